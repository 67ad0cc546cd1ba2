"""What hypothesis draws for more than one test: `from strategies import ...`."""

from fractions import Fraction

from hypothesis import strategies as st

LETTERS = "abcdefghijklmnopqrstuvwxyz"


@st.composite
def tape_numbers(draw):
    """A mixed number as a tape is read, and its value: `38-1/2`, `38 1/2`, `7/16`, `12`."""
    under = draw(st.sampled_from([2, 4, 8, 16, 32, 64]))
    over = draw(st.integers(1, under - 1))
    whole = draw(st.integers(0, 9999))
    form = draw(st.sampled_from(["{w} {o}/{u}", "{w}-{o}/{u}", "{w}  {o} / {u}", "{o}/{u}", "{w}"]))
    value = (whole if "{w}" in form else 0) + (Fraction(over, under) if "{o}" in form else 0)
    return form.format(w=whole, o=over, u=under), Fraction(value)


def hostile_texts():
    """Texts that a careless or spiteful hand may write where a quantity is expected."""
    nearly = st.text("0123456789 ./-+*eE^(){}[]\"',;ftinmpsigbarCFKgL%°½⅝¼٣²\u2044\u2212\u00a0_$=\x00", max_size=70)
    return st.one_of(st.text(max_size=80), nearly)


_keys = st.text(LETTERS, min_size=1, max_size=5)
_one_line = st.sampled_from(
    [
        '"14 5/8 in"',
        "12",
        '"[not.a.table]"',
        '"a # b { [ "',
        r'"a \" { b"',
        "'c:\\ { [ \"'",
        "{ a = 1, b = [2] }",
        "[1, 2]",
    ]
)
_broken = st.sampled_from(
    [
        ["[", '  "a", # ]', "  { b = 1 },", "]"],
        ['"""', "[header]", "key = 1", '{ [ \\""" "', '"""'],
        ["'''", "other = 2", "[[x]]", "'''"],
        ["[", '"""', "]", 'z = 1"""', ", '''", "''' ]"],
    ]
)
_filler = st.sampled_from(["", "# comment = 1", "  # [table]", "# \u2028 \u0085 one line", "# '''", '# """'])


@st.composite
def toml_documents(draw):
    """A TOML text, and the line on which each of its tables and keys stands."""
    lines, places = [], {}

    def write(table, taken):
        for key in draw(st.lists(_keys.filter(lambda k: k not in taken), max_size=4, unique=True)):
            lines.extend(draw(st.lists(_filler, max_size=2)))
            names = draw(st.sampled_from([(key,), (key, "of", "it")]))
            places.update({(*table, *names[:end]): len(lines) + 1 for end in range(1, len(names) + 1)})
            value = draw(st.one_of(_one_line.map(lambda v: [v]), _broken))
            written = draw(st.sampled_from(["{}", ' "{}" ', "'{}'"])).format(names[0])
            lines.append(".".join([written, *names[1:]]) + " = " + value[0])
            lines.extend(value[1:])

    tables = draw(st.lists(_keys, max_size=4, unique=True))
    write((), tables)
    for name in tables:
        for number in range(draw(st.integers(0, 2))):
            places[name, number] = len(lines) + 1
            lines.append(f"[[{name}]]")
            write((name, number), ["sub"])
            places[name, number, "sub"] = len(lines) + 1
            lines.append(f"  [ {name} . sub ] # one")
            write((name, number, "sub"), [])
        if (name, 0) not in places:
            places[name, "in.ner"] = len(lines) + 1
            lines.append(f'[{name}."in.ner"]')
            write((name, "in.ner"), [])
    return draw(st.sampled_from(["\n", "\r\n"])).join(lines), places
