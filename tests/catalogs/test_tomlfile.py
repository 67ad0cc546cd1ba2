"""A person's TOML: the classic slips in plain words with their line, and the place of every key."""

import re
import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import hostile_texts, toml_documents

from catalogs.errors import InputError
from catalogs.tomlfile import LARGEST, LONGEST_LINE, Places, read_text, read_toml


@pytest.fixture
def write(tmp_path):
    def write(content):
        path = tmp_path / "plan.toml"
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
        return path

    return write


@pytest.fixture
def fault(write):
    def fault(content):
        with pytest.raises(InputError) as caught:
            read_toml(write(content), "plan.toml")
        (only,) = caught.value.faults
        assert only.file == "plan.toml"
        return only

    return fault


HEAD = "schema = 1\n[runs.F1]\n"


@pytest.mark.parametrize(
    ("slip", "line", "message", "expected"),
    [
        ("stock = “ptfe-braid -8”", 3, "curly quotes", 'straight quotes: "'),
        ("stock = \u2018ptfe-braid -8\u2019", 3, "curly quotes", 'straight quotes: "'),
        ("stock = „ptfe-braid -8“", 3, "curly quotes", 'straight quotes: "'),
        ("\n\n“stock” = 'ptfe-braid -8'\n", 5, "curly quotes", 'straight quotes: "'),
        ("length = 14 5/8 in", 3, "a unit without quotes", 'quotes round the whole: "14 5/8 in"'),
        (
            "length = 11 ft 3 in # “by tape”",
            3,
            "a unit without quotes",
            'quotes round the whole: "11 ft 3 in"',
        ),
        ("length = 372mm\nstock = 'x'\n", 3, "a unit without quotes", 'quotes round the whole: "372mm"'),
        ("angle = 90 deg", 3, "a unit without quotes", 'quotes round the whole: "90 deg"'),
        ("rise = -.5 in", 3, "a unit without quotes", 'quotes round the whole: "-.5 in"'),
        ("nose_up = 60 %", 3, "a unit without quotes", 'quotes round the whole: "60 %"'),
        ("at = -78, 6, 14 in", 3, "a unit without quotes", 'quotes round the whole: "-78, 6, 14 in"'),
        ('length = 38-1/2"', 3, "a unit without quotes", "quotes round the whole: '38-1/2\"'"),
        ('length = 14 5/8 in"', 3, "a unit without quotes", 'quotes round the whole: "14 5/8 in"'),
        (
            'ambient = { temperature = "95 F", altitude = 1500 ft }',
            3,
            "a unit without quotes",
            'quotes round the whole: "1500 ft"',
        ),
        (
            'ambient = { altitude = 1500 ft, temperature = "95 F" }',
            3,
            "a unit without quotes",
            'quotes round the whole: "1500 ft"',
        ),
        (
            "ambient = { count = 1, altitude = 1500 ft }",
            3,
            "a unit without quotes",
            'quotes round the whole: "1500 ft"',
        ),
        (
            'span = { back = "11 in",\n  left = "2 in" }',
            3,
            "a table in { } broken over two lines",
            "all of { ... } on one line",
        ),
        (
            'ok = 1\nspan = {\n  back = "11 in"\n}',
            4,
            "a table in { } broken over two lines",
            "all of { ... } on one line",
        ),
        ("stock = 'a'\n\nstock = 'b'\n", 5, "this key or table stands here a second time", "each name once"),
        ("stock = 'a'\nstock = 'b'", 4, "this key or table stands here a second time", "each name once"),
        (
            "stock = 'a'\n[runs.F2]\n[runs.F1]\n",
            5,
            "this key or table stands here a second time",
            "each name once",
        ),
        (
            "span = { a = 1 }\nspan.b = 2\n",
            4,
            "this key or table stands here a second time",
            "each name once",
        ),
    ],
)
@pytest.mark.parametrize("newline", ["\n", "\r\n"])
def test_a_classic_slip_is_told_in_plain_words(fault, slip, line, message, expected, newline):
    found = fault((HEAD + slip).replace("\n", newline))
    assert (found.line, found.message) == (line, message)
    assert found.expected.startswith(expected)


@pytest.mark.parametrize(
    ("slip", "line", "key", "message", "expected"),
    [
        ('stock: "ptfe-braid -8"', 3, "stock", "a colon where = belongs", "stock = ..."),
        ("[runs.F2\nto = 'a.b'", 3, None, "the head of a table is not closed", "[runs.F2]"),
        (
            "[runs.fuel feed]",
            3,
            None,
            "a name of two words in the head of a table",
            'quotes round it: [runs."fuel feed"]',
        ),
        ('via = ["1, 2, 3 in" "4, 5, 6 in"]', 3, "via", "no comma between two members of a list", '["...", "..."]'),
        (
            'via = [\n  "1, 2, 3 in"\n  "4, 5, 6 in"\n]',
            5,
            None,
            "no comma between two members of a list",
            '["...", "..."]',
        ),
        (
            "via = ['1, 2, 3 in'\nends = ['auto', 'auto']\n[runs.F2]",
            3,
            "via",
            "a list that is opened and not closed",
            "] after its last member",
        ),
        ("ends = ['auto'\n\n\n", 3, "ends", "a list that is opened and not closed", "] after its last member"),
        (
            'bore = "0.62""',
            3,
            "bore",
            "an inch mark inside double quotes",
            '\'0.62"\', or in for inches: "0.62 in"',
        ),
        ('at = { x = "6", y = "4", }', 3, "at", "a comma before }", "no comma after the last of { ... }"),
        ("stock = ptfe", 3, "stock", "text without quotes", 'quotes round it: "ptfe"'),
        ("out = { thread = flare }", 3, "out", "text without quotes", 'quotes round it: "flare"'),
        (
            "rigid = True",
            3,
            "rigid",
            "True is no value",
            "true or false, in small letters and without quotes",
        ),
        ("stock = ", 3, "stock", "no value after =", "a value, text and figures with units in quotes"),
        ("// a note", 3, None, "no key and no comment", "a comment begins with #"),
        (
            "title = 'the driver's truck'",
            3,
            "title",
            "a ' inside single quotes ends the text",
            'double quotes: "the driver\'s truck"',
        ),
        (
            'stock = "a" "b"',
            3,
            "stock",
            '"b" stands after the end of the text',
            "one text in quotes, or a list in [ ]",
        ),
        ('stock = "a",', 3, "stock", "a comma after a value that stands in no list", "no comma there"),
        ("length = 1,5", 3, "length", "a comma in a number", "a point: 1.5"),
        (
            'shop = "C:\\shop"',
            3,
            "shop",
            "a \\ in a text in double quotes",
            "/ between folders, or single quotes round the text",
        ),
        ('line "FEED"', 3, "line", "no = after the key", 'line = "FEED"'),
        (
            'length is = "cut"',
            3,
            None,
            "a key of two words",
            'length_is = ..., or quotes round it: "length is"',
        ),
        ("stock = 'ptfe", 3, "stock", "a quote is opened and not closed on this line", '"..."'),
        ('stock = "ptfe\nto = 3', 3, "stock", "a quote is opened and not closed on this line", '"..."'),
    ],
)
def test_a_slip_of_the_keyboard_is_told_in_plain_words(fault, slip, line, key, message, expected):
    found = fault(HEAD + slip + "\n")
    assert (found.line, found.key, found.message, found.expected) == (line, key, message, expected)


def test_a_second_time_says_where_the_first_was(fault):
    found = fault("[a]\nx = 1\n\n[b]\n[a]\n")
    assert (found.line, found.expected) == (5, "each name once: it stands on line 1 already")
    found = fault("[a]\nx = 1\nxx = 1\nx = 2\n")
    assert (found.line, found.expected) == (4, "each name once: it stands on line 2 already")


@pytest.mark.parametrize(
    ("slip", "line"),
    [
        ("length\n", 3),
        ("= 3\n", 3),
        ("\x00 = 1\n", 3),
    ],
)
def test_any_other_slip_has_its_line(fault, slip, line):
    found = fault(HEAD + slip)
    assert found.message.startswith("not TOML: ")
    # Where something does not close, its end is all that can be known.
    assert line <= found.line <= line + 1
    assert not re.search(r"line \d|column", found.message)


def test_a_curly_quote_inside_a_comment_is_no_slip(fault):
    assert fault(HEAD + "length = = 3 # the “long” one").message.startswith("not TOML")


def test_the_key_is_named(fault):
    assert fault(HEAD + "length = 14 5/8 in").key == "length"


def test_a_byte_order_mark_is_accepted(write):
    data, places = read_toml(write(b"\xef\xbb\xbfschema = 1\n"), "plan.toml")
    assert data == {"schema": 1}
    assert places.line(("schema",)) == 1


@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-le", "utf-16-be"])
def test_utf_16_is_refused_by_name(fault, encoding):
    mark = b"" if encoding == "utf-16" else "\ufeff".encode(encoding)
    found = fault(mark + "schema = 1\n".encode(encoding))
    assert "UTF-16" in found.message
    assert found.expected == "a text saved as UTF-8"


@pytest.mark.parametrize("head", [b"PK\x03\x04\x14", b"\xd0\xcf\x11\xe0\xa1"])
def test_a_workbook_is_no_text(fault, head):
    assert fault(head).message == "a workbook of a spreadsheet, not a text"


def test_another_encoding_is_told_with_its_line(fault):
    found = fault("schema = 1\n# na\u00efve\n".encode("latin-1"))
    assert (found.line, found.expected) == (2, "a text saved as UTF-8")
    assert "not UTF-8" in found.message


def test_a_file_may_be_as_large_as_a_megabyte_and_no_larger(write, fault):
    line = "# " + "x" * 997 + "\n"
    full = line * (LARGEST // len(line))
    assert read_toml(write(full), "plan.toml")[0] == {}
    assert "larger than 1,000,000 bytes" in fault(full + "#").message


def test_no_line_is_endless(fault):
    found = fault("schema = 1\nnote = '" + "x" * LONGEST_LINE + "'\n")
    assert (found.line, "5,000" in found.message) == (2, True)


@pytest.mark.parametrize(
    "bomb",
    [
        "x = " + "[" * 4000,
        "x = " + "[" * 2000 + "]" * 2000,
        "x = " + "{a=" * 1600,
        "[" + "a." * 2000 + "b]\nc = 1",
    ],
)
def test_a_nest_without_end_is_refused(fault, bomb):
    assert "nested too deeply" in fault(bomb).message


@pytest.mark.parametrize(
    "number",
    [
        "9" * 4900,
        "9" * 19,
        "0x" + "f" * 4900,
        "-" + "9" * 19,
        "[[1, 0o" + "7" * 30 + "]]",
        "{ a = 0b" + "1" * 80 + " }",
    ],
)
def test_a_number_beyond_64_bits_is_refused(fault, number):
    assert "64 bits" in fault(f"x = {number}").message


def test_the_largest_numbers_of_toml_are_read(write):
    assert read_toml(write(f"x = {2**63 - 1}\ny = 0x7fffffffffffffff"), "plan.toml")[0]["y"] == 2**63 - 1


@pytest.mark.parametrize(
    "line",
    [
        "x = 1" + " " * 4900 + "?",
        "x = " + '"' * 4990,
        'x = """' + '\\"' * 2490,
        "x" + " ." * 2400,
        "=" * 4990,
        "a." * 2490 + "b = [",
        "x = 1" + ", 1" * 1600 + " ]",
    ],
)
def test_no_line_takes_long(write, line):
    # A handful of such lines, each a few milliseconds; one that backtracks needs minutes.
    with pytest.raises(InputError):
        read_toml(write("\n".join([line] * 3)), "plan.toml")


def test_a_file_that_is_not_there_says_so(tmp_path):
    with pytest.raises(InputError) as caught:
        read_text(tmp_path / "none.toml", "none.toml")
    assert str(caught.value) == "none.toml: there is no such file"


@pytest.mark.parametrize(
    ("error", "message"),
    [
        (PermissionError(13, "Permission denied"), "may not be read: its permissions forbid it"),
        (NotADirectoryError(20, "Not a directory"), "there is no such file"),
        (OSError(5, "Input/output error"), "cannot be read: Input/output error"),
        (OSError(), "cannot be read: the system does not say why"),
    ],
)
def test_a_file_that_cannot_be_read_says_why(tmp_path, monkeypatch, error, message):
    def refuse(*_):
        raise error

    monkeypatch.setattr(type(tmp_path), "open", refuse)
    with pytest.raises(InputError) as caught:
        read_text(tmp_path / "plan.toml", "plan.toml")
    assert str(caught.value) == f"plan.toml: {message}"


def test_a_folder_is_no_file(tmp_path):
    with pytest.raises(InputError) as caught:
        read_text(tmp_path, "shop")
    assert "folder" in str(caught.value)


@given(toml_documents())
def test_every_key_is_found_on_its_line(document):
    text, expected = document
    tomllib.loads(text)
    places = Places(text)
    assert {path: places.line(path) for path in expected} == expected


def test_a_key_inside_an_inline_table_is_on_the_line_of_the_table():
    places = Places('[plan]\ntitle = "x"\nambient = { temperature = "95 F" }\n')
    assert places.line(("plan", "ambient", "temperature")) == 3
    assert places.line(("plan", "ambient", 0, "anything")) == 3
    assert places.line(("plan", "revision")) == 1
    assert Places("\n[run.F1]\n").line(("run",)) == 2
    assert places.line(("nowhere",)) is None


@given(st.one_of(hostile_texts(), st.lists(hostile_texts(), max_size=6).map("\n".join)))
def test_any_text_is_read_or_refused_with_a_line(tmp_path_factory, text):
    path = tmp_path_factory.getbasetemp() / "hostile.toml"
    path.write_bytes(text.encode(errors="replace"))
    try:
        read_toml(path, "plan.toml")
    except InputError as error:
        faults = error.faults
    else:
        return
    assert all(fault.line and fault.line <= text.count("\n") + 1 for fault in faults)
