"""The lists: what is cut, ordered, joined and found, each thing once and nothing forgotten."""

import io
import re
import shutil
from dataclasses import replace
from fractions import Fraction
from importlib import resources
from pathlib import Path

import pypdf
import pytest
from writing import read

from catalogs.catalog import Catalog
from catalogs.grades import Grade
from catalogs.units import Quantity
from lines.assembly import assembly
from lines.finding import Finding, Verdict, unchecked, words
from lines.joints import joint
from lines.plan import PortTable
from lines.reading import read_plan
from lines.supports import clamps
from reports.measuring import draw_measuring_sheet
from reports.orders import _seals
from reports.packet import packet
from reports.pdf import pdf_bytes
from reports.tables import tables
from reports.terminal import console, print_findings
from reports.verdicts import passes, told, verdict_rows
from solver.checks import findings
from solver.study import study

US = {"units": "us", "ambient": {"temperature": "70 F", "altitude": "0 ft"}}
CONDUCTS = {"conducts": True, "source": "the supplier (invented)", "grade": "published"}
FLARE6 = {"thread": "flare37 -6"}
STRAIGHT = {"ends": ["straight", "straight"]}
BY_TAPE = STRAIGHT | {"length": "16.47 in", "length_is": "seat-to-seat"}


@pytest.fixture(scope="module", params=["fuel-return", "methanol-sideways", "long-travel"])
def example(request):
    return request.param


@pytest.fixture(scope="module", params=["us", "metric"])
def shipped(request, example, tmp_path_factory):
    """A shipped example, in its own units and in the other ones."""
    folder = tmp_path_factory.mktemp(example) / "plan"
    with resources.as_file(resources.files("lines") / "examples" / example) as source:
        shutil.copytree(source, folder)
    path = Path(folder) / "plan.toml"
    text = re.sub(r'^units = "\w+"', f'units = "{request.param}"', path.read_text(encoding="utf-8"), flags=re.MULTILINE)
    path.write_text(text, encoding="utf-8")
    made = study(read_plan(path))
    found = findings(made)
    return made, found, packet(made, found)


@pytest.fixture
def sheet(tmp_path):
    """The packet of runs from one port to another, each between two ports of its own."""

    def sheet(runs, *, plan=US, ports=None, **sections):
        ports, sections = ports or {}, {"stock": {"ptfe-braid": CONDUCTS}} | sections
        components, rows = {}, {}
        for n, (tag, run) in enumerate(runs.items()):
            start, end = ports.get(tag, ({}, {}))
            components[f"s{n}"] = {"kind": "source", "pressure": "40 psi", "ports": {"out": FLARE6 | start}}
            components[f"d{n}"] = {"kind": "draw", "flow": "10 gph", "ports": {"in": FLARE6 | end}}
            rows[tag] = {"circuit": "fuel", "from": f"s{n}.out", "to": f"d{n}.in", "stock": "ptfe-braid -6"} | run
        circuits = {"fuel": {"fluid": "gasoline-summer", "temperature": "70 F"}}
        made = study(read(tmp_path, plan=plan, circuits=circuits, components=components, runs=rows, **sections))
        return packet(made, findings(made))

    return sheet


# ---------------------------------------------------------------- cut and order


def inches(text):
    """`14 13/16 in` as a fraction, `376 mm` too."""
    return sum((Fraction(part) for part in text.split(" (")[0].split()[:-1]), Fraction(0))


def test_every_length_on_the_sheets_sums_to_the_order_list(shipped):
    content = shipped[2]
    ordered = {item.id: inches(item.says) for item in content.items if item.sort == "hose"}
    on_blocks, on_list = dict.fromkeys(ordered, Fraction(0)), dict.fromkeys(ordered, Fraction(0))
    for made in content.blocks:
        on_blocks[made.stock] += inches(made.cut.tape.text) if made.cut.tape else 0
    for stock in content.cut:
        assert inches(stock.total.text) == ordered[stock.stock.id]
        on_list[stock.stock.id] += sum(inches(p.cut.tape.text) for p in stock.pieces if p.cut.tape)
    assert on_blocks == on_list == ordered
    assert all(total > 0 for total in ordered.values())
    assert sum(len(stock.pieces) for stock in content.cut) == len(content.blocks)


def test_the_printed_order_list_is_the_sum_of_the_printed_cut_lengths(shipped):
    made, _, content = shipped
    unit = {"us": "in", "metric": "mm"}[made.plan.system]
    by_name = tables(content)
    cut, order = by_name["cut-list.csv"], by_name["order-list.csv"]
    length, stock = cut.names.index(f"cut length [{unit}]"), cut.names.index("stock")
    for row in (row for row in order.rows if row[0] == "hose"):
        pieces = [piece[length] for piece in cut.rows if piece[stock] == row[1] and piece[length] is not None]
        assert sum(pieces) == pytest.approx(row[order.names.index("quantity")], abs=1e-9)


def test_every_end_adapter_and_seal_of_the_joint_list_is_ordered(shipped):
    made, _, content = shipped
    # A plain end is the hose itself, pushed over its spigot: nothing to buy.
    bought = {e.id for a in made.assemblies.values() for e in a.chosen if e is not None and e.attaches != "clamped"}
    listed = sorted(
        [joint.hose_end for joint in content.joints if joint.hose_end in bought]
        + [joint.adapter for joint in content.joints if joint.adapter]
    )
    ordered = [i.id for i in content.items if i.sort in {"end", "adapter"} for _ in range(int(i.quantity))]
    assert sorted(ordered) == listed
    seals = {}
    for row in content.joints:
        for number, name in re.findall(r"(\d+) x ([^,]+)", row.seals):
            seals[name] = seals.get(name, 0) + int(number)
    kept = {"seal", "small part"}
    assert {i.id: i.quantity for i in content.items if i.sort in kept and i.id in seals} == seals


@pytest.mark.parametrize(
    ("conducts", "says"), [(True, ", conductive liner"), (False, ", liner not conductive"), (None, "")]
)
def test_an_order_and_a_label_say_whether_a_liner_conducts_and_ask_where_nobody_said(sheet, conducts, says):
    told = {} if conducts is None else {"ptfe-braid": CONDUCTS | {"conducts": conducts}}
    content = sheet({"F1": {"length": "20 in", "length_is": "cut"}}, stock=told)
    (hose,) = [item for item in content.items if item.sort == "hose"]
    assert hose.means == f"PTFE-lined hose, stainless braid, -6{says}"
    assert f"| ptfe-braid -6{says} |" in content.blocks[0].label
    assert any(lack.place == "ptfe-braid -6" and "conducts" in lack.what for lack in content.lacks) == (
        conducts is None
    )


def test_small_parts_are_two_caps_and_a_label_for_each_assembly_and_its_clamps(shipped):
    made, _, content = shipped
    small = [item for item in content.items if item.sort == "small part"]
    ends = sum(end is not None for a in made.assemblies.values() for end in a.chosen)
    assert sum(i.quantity for i in small if i.id.startswith("cap or plug")) == ends
    assert next(i.quantity for i in small if i.id == "label") == len(made.assemblies)
    held = sum(len(clamps(made.plan, a)) for a in made.assemblies.values())
    assert sum(i.quantity for i in small if i.id.startswith("support clamp")) == held > 0


def test_the_small_parts_of_the_long_travel_vehicle_are_those_counted_by_hand(shipped, example):
    if example != "long-travel":
        pytest.skip("counted on the vehicle of all circuits")
    number = {item.id: item.quantity for item in shipped[2].items if item.sort in {"seal", "small part"}}
    # By hand in its plan: hose of 1 1/4 in C1, C2, C4, C5, C7, C8, C9, of 3/4 in C10, of 5/8 in C14 and C15, clamped at
    # each end.
    assert [number[f"hose clamp {size}"] for size in ("1 1/4", "3/4", "5/8")] == [14, 2, 4]
    # A banjo at each front caliper, a washer on each side of its eye; one O-ring boss, -8, at the fuel filter.
    assert (number["washer M10"], number["O-ring AS568-908"]) == (4, 1)
    assert number["label"] == 64
    assert sum(n for name, n in number.items() if name.startswith("cap or plug")) == 128
    assert number["cap or plug, banjo M10x1"] == 2


def test_the_order_list_stands_in_groups_and_says_what_it_leaves_out(shipped):
    made, _, content = shipped
    sorts = [item.sort for item in content.items]
    assert sorts == sorted(sorts, key=["hose", "end", "adapter", "seal", "small part"].index)
    only = replace(content, sketches=[], vehicle=None, blocks=[])
    pages = [page.extract_text() for page in pypdf.PdfReader(as_file(only, "letter")).pages]
    text = " ".join(" ".join(pages).split())
    start = text.index("Order list")
    places = [
        text.index(word, start) for word in ("Not in this list:", "Not chosen yet", "Hose and tube", "Small parts")
    ]
    assert places == sorted(places)
    assert made.assemblies


def as_file(content, paper):
    return io.BytesIO(pdf_bytes(content, paper))


def test_cut_list_is_by_stock_and_the_longest_first(sheet):
    lengths = {"A": "20 in", "B": "40 in", "C": "12 in"}
    runs = {tag: BY_TAPE | {"length": length} for tag, length in lengths.items()}
    runs["U"] = STRAIGHT
    runs["Z"] = BY_TAPE | {"stock": "ptfe-braid -10"}
    runs["Y"] = BY_TAPE | {"stock": "ptfe-braid -4", "ends": ["straight", "90 deg"]}
    made = sheet(runs)
    assert [(s.stock.id, [p.tag for p in s.pieces]) for s in made.cut] == [
        ("ptfe-braid -4", ["Y"]),
        ("ptfe-braid -6", ["B", "A", "C", "U"]),
        ("ptfe-braid -10", ["Z"]),
    ]
    # 40 + 20 + 12 less 3 x 1.62 in, each to its mark: 38 3/8 + 18 3/8 + 10 3/8.
    # 0.81 in for a straight -6 end: NAVEDTRA 14018 Table 5-2, column A.
    assert made.cut[1].total.text == "67 1/8 in"
    assert made.cut[1].open == "1 NOT KNOWN and not in the total"
    assert made.cut[0].open == "1 PROVISIONAL"
    hose = next(i for i in made.items if i.id == "ptfe-braid -6")
    assert hose.says == "67 1/8 in (5.6 ft)"  # 5.594 ft, rounded up
    assert hose.note == "4 pieces, 1 NOT KNOWN and not in the total"


def test_what_does_not_fit_or_is_in_doubt_is_loud_everywhere_and_never_summed_in_silence(sheet):
    ports = {
        "T": ({"at": "0, 0, 10 in"}, {"at": "12, 12, 10 in"}),
        "D": ({"at": "0, 0, 10 in"}, {"at": "20, 0, 10 in"}),
    }
    # T is bent to 1 in, which -6 PTFE hose is not. D has its corner 10 in forward and 30 in aside: twice 31.6 in less
    # what its bend saves is more than its tape says.
    tight = STRAIGHT | {"via": ["12, 0, 10 in"], "radius": "1 in"}
    short = STRAIGHT | {"via": ["10, 30, 10 in"], "length": "24 in", "length_is": "seat-to-seat"}
    made = sheet({"A": BY_TAPE, "T": tight, "D": short}, ports=ports)
    states = {block.tag: (block.cut.state, block.cut.word) for block in made.blocks}
    assert states["T"] == ("does not fit", "DOES NOT FIT")
    assert states["D"] == ("in doubt", "IN DOUBT")
    assert made.blocks[1].cut.tape is None
    # 16.47 - 1.62 = 14.85 and 24 - 1.62 = 22.38 in, each to its mark; nothing of T.
    assert made.cut[0].total.text == "37 1/4 in"
    assert made.cut[0].open == "1 IN DOUBT, 1 DOES NOT FIT and not in the total"
    assert made.front.cuts == ("DOES NOT FIT: T", "IN DOUBT: D")
    assert [(lack.place, lack.what.partition(":")[0]) for lack in made.lacks] == [
        ("T", "cut length DOES NOT FIT"),
        ("D", "cut length IN DOUBT"),
    ]
    text = [page.extract_text() for page in pypdf.PdfReader(as_file(made, "letter")).pages]
    for page in ("Assemblies", "Cut list", "Order list"):
        assert any(page in one and "DOES NOT FIT" in one and "IN DOUBT" in one for one in text), page
    assert any("do not cut" in one and "see run.radius" in one for one in text)


def test_order_list_counts_ends_adapters_seals_and_small_parts(sheet):
    port = {"thread": "orb -8"}
    made = sheet({"A": BY_TAPE, "B": BY_TAPE, "C": BY_TAPE}, ports={"A": (port, {}), "B": (port, port)})
    counted = {(i.sort, i.id): (i.quantity, i.says) for i in made.items if i.sort != "hose"}
    assert counted == {
        ("end", "ptfe-braid -6 straight"): (6, "6 each"),
        ("adapter", "orb -8 to flare37 -6"): (3, "3 each"),
        ("seal", "O-ring AS568-908"): (3, "3 each"),  # AS568: the last two digits are the size in sixteenths
        # 14.85 in of fuel hose, held every 300 mm or less by a rulebook in the table of supports: once.
        ("small part", "support clamp, ptfe-braid -6"): (3, "3 each"),
        # Both ends shut at once after cleaning, US Army TM 1-1500-204-23-2 (caps); one label each.
        ("small part", "cap or plug, flare37 -6"): (6, "6 each"),
        ("small part", "label"): (3, "3 each"),
    }
    assert [lack.place for lack in made.lacks] == ["circuit fuel"]  # nobody said of what its O-ring is


def test_each_banjo_takes_two_washers_of_its_size_and_a_spigot_a_clamp():
    catalog = Catalog()
    # Common practice, no source: a washer on each side of the banjo.
    banjo = next(t for t in catalog.ids("threads") if t.startswith("banjo M10"))
    items = _seals(catalog, [joint(catalog, "caliper.in", PortTable(thread=banjo), banjo)])
    found = {(i.sort, i.id, i.quantity, i.note) for i in items}
    assert ("seal", "washer M10", 2, "new at every assembly") in found
    # One hollow bolt goes through each banjo: common practice, no source.
    assert {item for item in found if item[0] != "seal"} == {("small part", f"banjo bolt {banjo.split()[1]}", 1, "")}
    barb = next(t for t in catalog.ids("threads") if t.startswith("barb"))
    clamped = _seals(catalog, [joint(catalog, "can.in", PortTable(thread=barb), barb, attaches="clamped")])
    assert [(i.sort, i.quantity) for i in clamped] == [("small part", 1)]
    # A push-on hose is never clamped over its barb: common practice, no source.
    assert _seals(catalog, [joint(catalog, "can.in", PortTable(thread=barb), barb, attaches="push-on")]) == []


def test_what_is_not_chosen_is_listed(sheet):
    ports = {"A": ({"thread": ""}, {"thread": "bubble M12x1"})}
    lacks = {(lack.place, lack.what.split(":")[0]) for lack in sheet({"A": STRAIGHT, "B": BY_TAPE}, ports=ports).lacks}
    assert lacks == {
        ("A end A, s0.out", "thread of the port, and with it adapter and seal"),
        ("A end B, d0.in", "an adapter, or an end of the port's own seat"),
        ("A", "cut length, and with it its support clamps"),
    }


def test_part_numbers_and_prices_come_from_the_shop(sheet, tmp_path):
    (tmp_path / "shop").mkdir()
    rows = "id,part,price,source,grade\n,,,,\nptfe-braid -6 straight,E-6,12.50,invented,measured\n"
    (tmp_path / "shop" / "ends.csv").write_text(rows, encoding="utf-8")
    made = sheet({"F1": BY_TAPE}, plan=US | {"shop": "shop"})
    end = next(i for i in made.items if i.sort == "end")
    assert (end.part, end.price) == ("E-6", "12.50")


# ---------------------------------------------------------------- joints


def test_the_joint_list_has_both_ends_of_every_run_with_the_verdict_of_its_check(shipped):
    made, found, content = shipped
    assert sorted((j.tag, j.end) for j in content.joints) == sorted(
        (tag, end) for tag in made.assemblies for end in "AB"
    )
    fits = {f.place: f.verdict for f in found if f.rule == "joint.fit"}
    for row in content.joints:
        assert row.verdict is fits[f"{row.tag}.{'from' if row.end == 'A' else 'to'}"]
        run = made.plan.runs[row.tag]
        assert row.port == (run.start if row.end == "A" else run.end)


def test_a_joint_says_what_meets_there(sheet):
    first, last = sheet({"F1": BY_TAPE}, ports={"F1": ({"thread": "orb -8"}, {})}).joints
    # SAE J1926: -8 is 3/4-16; SAE J514: -6 is 9/16-18; nut 11/16 in by US Army TM 55-1520-240-23-1 para. 1-13.
    assert (first.tag, first.end, first.port, first.seat) == ("F1", "A", "s0.out", "orb -8, 3/4-16")
    assert (first.adapter, first.seals, first.hex) == ("orb -8 to flare37 -6", "1 x O-ring AS568-908", "11/16 in")
    assert (last.seat, last.adapter, last.seals) == ("flare37 -6, 9/16-18", "", "none")


def test_what_fails_stands_first_in_capitals_with_what_to_do(sheet):
    ports = {"B": ({}, {"thread": "bubble M12x1"}), "C": ({"thread": ""}, {})}
    made = sheet({"A": BY_TAPE, "B": BY_TAPE, "C": BY_TAPE}, ports=ports)
    # A and B of a run stand together, the run with what fails first.
    assert [j.tag + j.end for j in made.joints] == ["BA", "BB", "CA", "CB", "AA", "AB"]
    by_place = {j.tag + j.end: j for j in made.joints}
    assert (by_place["BB"].verdict, by_place["CA"].verdict) == (Verdict.FAIL, Verdict.UNCHECKED)
    assert "do not belong together" in by_place["BB"].why
    assert "thread of s2.out" in by_place["CA"].why
    assert {by_place[place].why for place in ("AA", "AB", "BA", "CB")} == {""}
    text = " ".join(page.extract_text() for page in pypdf.PdfReader(as_file(made, "a4")).pages)
    row = text[text.index("6 joints, 1 that fails, first") : text.index("CUT LENGTH")]
    assert "Two spanners" in row
    assert row.index("FAIL: ") < row.index("UNCHECKED: ")
    assert "pass" not in row.replace("passes", "")
    names, rows = tables(made)["joint-list.csv"].names, tables(made)["joint-list.csv"].rows
    assert all(row[names.index("torque")] is None for row in rows)


# ---------------------------------------------------------------- findings


def radius(place, size, verdict=Verdict.PASS, **facts):
    length, least = Quantity(size, "length"), Quantity(0.1, "length")
    return Finding(rule="run.radius", place=place, verdict=verdict, why=words("x"), value=length, low=least, **facts)


def test_passes_of_a_rule_are_one_line_with_the_nearest_margin():
    found = [radius("F1", 0.2), radius("F3", 0.112, basis=Grade.MEMORY), radius("F2", 0.15)]
    (line,) = passes(found, "metric", [])
    # (112 - 100) / 100 mm
    assert (line.head, line.grade) == ("run.radius", "memory")
    assert line.says == "3 pass, tightest margin 12.0 % at F3 (112 mm, at least 100 mm)"


def test_what_stands_on_its_limit_is_counted_and_has_no_margin():
    found = [radius("F1", 0.1), radius("F2", 0.1), radius("F3", 0.112)]
    (line,) = passes(found, "metric", [])
    assert line.says == "3 pass, 2 at the limit itself, tightest margin 12.0 % at F3 (112 mm, at least 100 mm)"
    (line,) = passes(found[:2], "metric", [])
    assert line.says == "2 pass, 2 at the limit itself"


def test_a_plain_number_says_what_it_counts():
    def free(place, number):
        value, low = Quantity(number, "number"), Quantity(4.0, "number")
        return Finding(rule="run.free", place=place, verdict=Verdict.PASS, why=words("x"), value=value, low=low)

    (line,) = passes([free("A", 11.25), free("B", 20.0)], "us", [])
    assert line.says == "2 pass, tightest margin 7.25 outside diameters at A (11.2, at least 4.00)"


def test_a_margin_of_what_has_no_natural_zero_is_told_in_its_own_unit():
    def warm(place, kelvin):
        value, high = Quantity(kelvin, "temperature"), Quantity(400.0, "temperature")
        return Finding(rule="r", place=place, verdict=Verdict.PASS, why=words("x"), value=value, high=high)

    (line,) = passes([warm("A", 390.0), warm("B", 300.0)], "metric", [])
    assert line.says.startswith("2 pass, tightest margin 10 K at A (117 C, at most 127 C")


def test_passes_without_figures_are_counted_and_those_of_circuits_told_in_full():
    def plain(rule, place):
        return Finding(rule=rule, place=place, verdict=Verdict.PASS, why=words(f"About {place}."))

    found = [plain("joint.fit", f"F{n}.to") for n in range(38)]
    found += [plain("circuit.flow", "fuel"), plain("circuit.flow", "oil"), plain("fuel.rail", "rail")]
    lines = {line.head: line.says for line in passes(found, "us", ["fuel", "oil"])}
    assert lines == {
        "joint.fit": "38 pass",
        "circuit.flow/fuel": "About fuel.",
        "circuit.flow/oil": "About oil.",
        "fuel.rail/rail": "About rail.",
    }


def test_one_sentence_of_one_rule_is_told_once_with_all_its_places(shipped):
    runs = dict(zip("ABCD", list(shipped[0].plan.runs.values()) * 2, strict=False))

    def open_(tag, size):
        return unchecked("run.radius", tag, words("Not tighter than {r}.", r=size), f"bends of {tag}: their turns")

    small, large = Quantity(0.1, "length"), Quantity(0.2, "length")
    found = [open_("A", small), open_("B", large), open_("C", small), open_("D", small)]
    (one,) = told(verdict_rows(found, "metric"), runs)
    assert (one.head, one.places) == ("run.radius/A, B, C, D", ("A", "B", "C", "D"))
    assert one.row.needs == "bends of A, B, C, D: their turns"
    assert one.row.why == "Not tighter than 100 mm (A, C, D), 200 mm (B)."


def test_sentences_that_differ_in_one_number_are_told_once_with_every_number(shipped):
    runs = dict(zip("ABC", list(shipped[0].plan.runs.values()) * 2, strict=False))

    def short(tag, *sizes):
        text = "Cut length {a} of {b}." if len(sizes) > 1 else "Cut length {a}, provisional."
        facts = {name: Quantity(size, "length") for name, size in zip("ab", sizes, strict=False)}
        return Finding(rule="r", place=tag, verdict=Verdict.CAUTION, why=words(text, **facts), change=words("Measure."))

    (one,) = told(verdict_rows([short("A", 0.254), short("B", 0.3302), short("C", 0.254)], "us"), runs)
    assert one.row.why == "Cut length 10 in (A, C), 13 in (B), provisional."
    assert one.head == "r/A, B, C"
    # Two numbers that go together are not torn apart.
    two = told(verdict_rows([short("A", 0.1, 0.2), short("B", 0.3, 0.4)], "metric"), runs)
    assert [(t.places, t.row.why) for t in two] == [
        (("A",), "Cut length 100 mm of 200 mm."),
        (("B",), "Cut length 300 mm of 400 mm."),
    ]


def test_a_place_at_the_end_of_a_run_is_named_by_its_port(shipped):
    made = shipped[0]
    (tag, run), *_ = made.plan.runs.items()
    found = [
        unchecked("joint.fit", f"{tag}.{which}", words("The thread at {p} is not known.", p=port), f"thread of {port}")
        for which, port in (("from", run.start), ("to", run.end))
    ]
    (one,) = told(verdict_rows(found, "us"), made.plan.runs)
    assert one.row.needs == f"thread of {run.start}, {run.end}"
    assert one.head == f"joint.fit/{tag}.from, {tag}.to"


def test_what_is_told_and_counted_is_every_finding_once(shipped):
    made, found, content = shipped
    said = sorted(f"{one.row.rule}/{place}" for one in content.told for place in one.places)
    assert said == sorted(f.id for f in found if f.verdict is not Verdict.PASS)
    numbers = [int(n[1]) if (n := re.match(r"(\d+) pass", line.says)) else 1 for line in content.passes]
    assert sum(numbers) == sum(f.verdict is Verdict.PASS for f in found)
    assert [row.id for row in content.findings] == [row.id for row in verdict_rows(found, made.plan.system)]


def test_the_terminal_says_all_that_needs_a_hand_in_80_columns(shipped):
    made, found, _ = shipped
    out = io.StringIO()
    print_findings(made.plan, found, console(out))
    lines = out.getvalue().splitlines()
    assert max(map(len, lines)) <= 80
    assert "\x1b" not in out.getvalue()
    text = " ".join(" ".join(lines).split())
    for one in told(verdict_rows(found, made.plan.system), made.plan.runs):
        for part in (one.head, one.row.why, one.row.change, one.row.needs):
            assert " ".join(part.split()) in text
    heads = [line.split()[0] for line in lines if re.match(r"(pass|UNCHECKED|CAUTION|FAIL)\b", line)]
    assert heads == sorted(heads, key=["pass", "UNCHECKED", "CAUTION", "FAIL"].index)


# ---------------------------------------------------------------- the measuring sheet


def test_the_measuring_sheet_is_two_pages_that_fit_both_papers(tmp_path):
    path = tmp_path / "sheet.pdf"
    path.write_bytes(draw_measuring_sheet())
    pages = pypdf.PdfReader(path).pages
    assert len(pages) == 2
    for page in pages:
        # ISO 216 A4 is the narrower (595.3 pt), US Letter the lower (792 pt).
        assert float(page.mediabox.width) <= 595.3
        assert float(page.mediabox.height) <= 792.0
    text = " ".join(page.extract_text() for page in pages)
    for word in (
        "zero",
        "component.port",
        "z, height",
        "points",
        "made of",
        "from",
        "length",
        "angles",
        "clock",
        "rise",
    ):
        assert word in text
    for word in ("nose up", "left low", "volts", "regulator base", "flow", "drop", "hot", "gap", "full", "boost"):
        assert word in text


def test_an_assembly_without_a_known_length_asks_for_no_clamps(tmp_path):
    components = {
        "s": {"kind": "source", "pressure": "40 psi", "ports": {"out": FLARE6}},
        "d": {"kind": "draw", "flow": "10 gph", "ports": {"in": FLARE6}},
    }
    runs = {"A": {"circuit": "fuel", "from": "s.out", "to": "d.in", "stock": "ptfe-braid -6"} | STRAIGHT}
    circuits = {"fuel": {"fluid": "gasoline-summer", "temperature": "70 F"}}
    plan = read(tmp_path, plan=US, circuits=circuits, components=components, runs=runs)
    assert clamps(plan, assembly(plan, "A")) == ()
    made = study(plan)
    items = packet(made, findings(made)).items
    assert not [item for item in items if item.id.startswith("support clamp")]
