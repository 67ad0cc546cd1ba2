"""Plans broken the way people break them: each message names the place, what was expected and the nearest word."""

import shutil
from importlib import resources

import pytest

from catalogs.errors import InputError, PlanError
from lines.reading import read_plan

LENGTH = 'length = "14 5/8 in" '


@pytest.mark.parametrize(
    ("old", "new", "line", "key", "message", "nearest"),
    [
        # a unit without quotes, as on a note
        (LENGTH, "length = 14 5/8 in ", 80, "length", "a unit without quotes", None),
        # curly quotes from a word processor
        ('title = "Example', "title = “Example", 6, "title", "curly quotes", None),
        # a number without its unit
        (LENGTH, 'length = "14 5/8"', 80, "length", '"14 5/8" has no unit', None),
        (LENGTH, "length = 14.625", 80, "length", "a bare number (14.625): write the unit, in quotes", None),
        # a unit of something else
        (LENGTH, 'length = "14 5/8 psi"', 80, "length", '"psi" is a unit of pressure, not of length', None),
        # a misspelt key
        (LENGTH, 'lenght = "14 5/8 in"', 80, "lenght", "is no key here", "length"),
        # a port that is not there, and one of a component that is not there
        ('from = "pump.out"', 'from = "pump.outlet"', 87, "from", 'pump has no port "outlet"', "pump.out"),
        ('from = "pump.out"', 'from = "pmup.out"', 87, "from", '"pmup" is no component of this plan', "pump.out"),
        # a hose that the tables do not hold
        ('"ptfe-braid -8"', '"ptfe-brade -8"', 79, "stock", '"ptfe-brade -8" is no stock', "ptfe-braid -8"),
        # a hose end in an angle that is not made
        (', "straight"]', ', "70 deg"]', 82, "ends", '"70 deg" is no end of ptfe-braid -8', None),
        # a fluid by another name
        ('"gasoline-summer", t', '"gas-summer", t', 14, "fluid", '"gas-summer" is no fluid', "gasoline-summer"),
        # a kind by the shop's word
        ('kind = "pump"', 'kind = "fuel-pump"', 43, "kind", '"fuel-pump" is no kind of component', "pump"),
        # a duty forgotten, a duty misspelt
        ('cruise = "13.4 V", full', "full", 45, "volts", "has no value for cruise", None),
        ('idle = "13.4 V", cru', 'idel = "13.4 V", cru', 45, "volts", '"idel" is no duty of this plan', "idle"),
        # a sign in an attitude
        ('nose_up = "60 %"', 'nose_up = "-60 %"', 24, "nose_up", "carries a sign", None),
        # a table in braces over two lines
        ("idle = { boost", "idle = {\n  boost", 19, "idle", "a table in { } broken over two lines", None),
        # one port, two hoses
        ('to = "rail.in"', 'to = "filter.in"', 96, "to", 'the port "filter.in" is already taken by run F2', None),
        # a length without saying which
        ('length_is = "seat-to-seat"', "", 80, "length", "length without length_is", None),
        # a folder that leads out
        ('shop = "shop"', 'shop = "../shop"', 11, "shop", '"../shop" leads out of the plan\'s folder', None),
        # a key of a run left out
        ('circuit = "oil"\n', "", 141, "circuit", "is missing", None),
        # a comma for a point
        (LENGTH, 'length = "14,625 in"', 80, "length", '"14,625 in" has a comma in its number: write a point', None),
        # a direction misspelt
        ('"forward", th', '"foward", th', 39, "ports.out.points", '"foward" is no direction', "forward"),
    ],
)  # fmt: skip
def test_one_fault_is_told_with_its_place(broken, old, new, line, key, message, nearest):
    told = [(f.line, f.key, f.message, f.nearest) for f in broken(old, new)]
    assert (line, key, message, nearest) in told


def test_contradictions_give_both_numbers(broken):
    (fault,) = broken(LENGTH, 'length = "8 in"')
    assert fault.message == "a length of 8 in cannot reach between ports 12 1/16 in apart"
    (fault,) = broken('stock = "ptfe-braid -8"\n', 'stock = "ptfe-braid -8"\nrise = "3 in"\n')
    assert fault.key == "rise"
    assert fault.message == "a rise of 3 in contradicts its ports, -1 in apart in height"


def test_all_faults_of_a_file_are_told_at_once(broken):
    faults = broken(
        LENGTH + "                            # by tape",
        'lenght = "14 in"\nrise = "2"\nstock2 = "x"\nbends = [{ turn = "90", inside_radius = "4 in" }] # by tape',
    )
    assert {"lenght", "rise", "stock2", "bends[1].turn"} <= {f.key for f in faults}
    assert [f.line for f in faults] == sorted(f.line for f in faults)


def test_a_misspelt_name_is_told_beside_a_bad_figure(broken):
    faults = broken('pressure = { idle = "28 psi"', 'pressure = { idle = "28 pis"')
    assert [f.nearest for f in faults] == ["psi"]
    faults = broken('stock = "ptfe-braid -4"', 'stock = "ptfe -4"\nlength = "x"')
    assert {f.key for f in faults} >= {"stock", "length"}


def test_a_shop_table_is_told_with_its_own_file_and_line(broken, tmp_path):
    shop = tmp_path / "shop"
    shop.mkdir()
    (shop / "limits.toml").write_text('["run.slack"]\nfail_below = "4 psi"\nsource = "ours"\ngrade = "measured"\n')
    faults = broken("# An invented", "# An invented")
    assert [(f.file, f.table) for f in faults] == [("shop/limits.toml", "run.slack")]


@pytest.mark.parametrize("text", ["", "schema = 1", "\x00", "[plan]\n" * 3, "a = " + "[" * 5000])
def test_nonsense_is_a_fault_and_never_a_crash(tmp_path, text):
    plan = tmp_path / "plan.toml"
    plan.write_text(text, encoding="utf-8")
    with pytest.raises(PlanError) as caught:
        read_plan(plan)
    assert caught.value.faults


def test_control_characters_do_not_reach_the_terminal(broken):
    faults = broken('revision = "A"', 'revision = "\\u001b[2J"')
    assert [f.message for f in faults] == ["has characters that cannot be printed"]


VIA = 'via = ["20, 5, 36 in"]'
ZONE = {"form": "cylinder", "nature": "hot", "from": "-10, 14, 30 in", "to": "-34, 16, 24 in", "radius": "1 in"}


@pytest.mark.parametrize(
    ("change", "key", "message", "expected", "nearest"),
    [
        ({"radius": None}, "radius", "is missing: a cylinder is known by from, to, radius", 'radius = "1 in"', None),
        ({"to": None}, "to", "is missing: a cylinder is known by from, to, radius", 'to = "20, 8 1/2, 27 in"', None),
        (
            {"form": "sphere"},
            "from",
            "a sphere is known by centre, radius, and has no from",
            "no from, or another form",
            None,
        ),
        ({"form": "tube"}, "form", '"tube" is none of the choices', '"box", "cylinder" or "sphere"', "cylinder"),
        ({"nature": "exhaust"}, "nature", '"exhaust" is none of the choices', '"hot", "moving" or "still"', "hot"),
        ({"radius": "0 in"}, "radius", '"0 in" is 0 or less', "a length over 0", None),
        ({"growth": "-20 mm"}, "growth", '"-20 mm" is less than 0', "a length of 0 or more", None),
        ({"to": "-10, 14, 30 in"}, "to", "from and to are one place", "the two ends of the cylinder's axis", None),
        ({"form": None}, "form", "is missing", 'something like form = "box" or "cylinder" or "sphere"', None),
    ],
)
def test_a_zone_says_which_figure_is_missing_or_too_much(broken, change, key, message, expected, nearest):
    rows = {k: v for k, v in (ZONE | change).items() if v is not None}
    text = "[zones.header]\n" + "".join(f'{k} = "{v}"\n' for k, v in rows.items()) + "\n[runs.F1]\n"
    told = [(f.line, f.key, f.message, f.expected, f.nearest) for f in broken("[runs.F1]\n", text)]
    line = 75 + list(rows).index(key) if key in rows else 74
    assert told == [(line, key, message, expected, nearest)]


# What only follows from another fault is not told beside it.
@pytest.mark.parametrize(
    ("old", "new", "line", "message", "nearest"),
    [
        ('stock = "ptfe-braid -4"', 'stok = "ptfe-braid -4"', 146, "is no key here", "stock"),
        ('circuit = "oil"', 'Circuit = "oil"', 142, "is no key here", "circuit"),
        ('shop = "shop"', 'shop = "shp"', 11, 'there is no folder "shp" beside the plan', "shop"),
        ("[components.pump]", "[component.pump]", 42, "is no section of a plan", "components"),
        ("[runs.F1]", "[run.F1]", 74, "is no section of a plan", "runs"),
    ],
)
def test_what_follows_from_a_fault_is_withheld(broken, old, new, line, message, nearest):
    assert [(f.line, f.message, f.nearest) for f in broken(old, new)] == [(line, message, nearest)]


def test_a_run_at_fault_is_still_a_run(broken):
    zone = (
        '[zones.block]\nform = "sphere"\nnature = "hot"\ncentre = "0, 0, 0 in"\nradius = "2 in"\napart_from = ["F1"]\n'
    )
    (fault,) = broken("[runs.F1]\n", zone + '[runs.F1]\nrise = "2"\n')
    assert fault.key == "rise"


def test_an_empty_plan_names_its_sections_only(tmp_path):
    plan = tmp_path / "plan.toml"
    plan.write_text("")
    with pytest.raises(PlanError) as caught:
        read_plan(plan)
    assert [f.table for f in caught.value.faults] == ["schema", "plan", "circuits", "duties", "components", "runs"]


@pytest.mark.parametrize(
    ("said", "near"), [("bmp", "bump"), ("full droop", "droop"), ("extension", "droop"), ("rid", "ride"), ("zz", None)]
)
def test_a_chord_is_at_a_position_of_a_body_at_its_ends(broken, said, near):
    (fault,) = broken('chords = { ride = "14 5/8 in"', f'chords = {{ "{said}" = "14 5/8 in"', example="long-travel")
    assert (fault.key, fault.nearest) == (f"chords.{said}", near)
    assert fault.message == f'"{said}" is no position of a body at its ends'
    assert fault.expected.startswith("one of ride, bump, droop")


POINTS = "id,x,y,z\n,in,in,in\n1,20,5,36\n"


@pytest.mark.parametrize(
    ("name", "content", "line", "message"),
    [
        ("f4.csv", "id,x,y,z\n1,20,5,36\n", 2, "no row of units under the names: here stands a row of figures"),
        ("f4.csv", POINTS + "1,30,5,36\n", 4, 'the id "1" stands in 2 rows'),
        ("f4.xlsx", b"PK\x03\x04\x14", None, "a workbook of a spreadsheet, not a text"),
        ("f4.csv", POINTS.replace("z", "Z"), 3, "is no key here"),
    ],
)
def test_a_file_of_points_is_told_with_its_own_line(broken, tmp_path, name, content, line, message):
    (tmp_path / name).write_bytes(content if isinstance(content, bytes) else content.encode())
    (fault,) = broken(VIA, f'path = "{name}"')
    assert (fault.file, fault.line, fault.message) == (name, line, message)


@pytest.mark.parametrize(
    ("old", "new", "line", "message"),
    [
        ("-6 90 deg,1.31", "-6 90 deg,-1.31", 7, "-1.31 in, the table has 0.98 in: is the sign right?"),
        ("-8 straight,0.95", "-8 straight,9.5", 5, "9.5 in, the table has 0.93 in: is the point in its place?"),
        ("-8 straight,0.95", "-8 straight,0.95 mm", 5, "0.95 mm, the table has 23.6 mm: mm typed for in?"),
    ],
)
def test_a_shops_figure_far_from_the_tables_is_told(tmp_path, old, new, line, message):
    with resources.as_file(resources.files("lines") / "examples" / "fuel-return") as folder:
        shutil.copytree(folder, tmp_path, dirs_exist_ok=True)
    ends = tmp_path / "shop" / "ends.csv"
    text = ends.read_text(encoding="utf-8")
    assert old in text
    ends.write_text(text.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(InputError) as caught:
        read_plan(tmp_path / "plan.toml")
    (fault,) = caught.value.faults
    assert (fault.file, fault.line, fault.key, fault.message) == ("shop/ends.csv", line, "cutoff", message)


CURVE = """[curves.own]
means = "invented"
points = [
  { rpm = "3000 rpm", rise = "0 psi", flow = "90 gph" },
  { rpm = "3000 rpm", rise = "20 psi", flow = "80 gph" },
  { rpm = "3000 rpm", rise = "40 psi", flow = "70 gph" },
]
source = "invented"
grade = "illustrative"
"""


# A pump's speed is no engine's, a curve's rise no height: each is answered with a key of where it stands.
@pytest.mark.parametrize(
    ("old", "new", "key", "message", "near"),
    [
        ("rpm =", "rpm =", "points[1].rpm", "is no key here, here and in 2 places more", "speed"),
        ("rpm =", "voltage =", "points[1].voltage", "is no key here, here and in 2 places more", "volts"),
        ("rise =", "head =", "points[1].head", "is no key here, here and in 2 places more", "rise"),
        ("rise =", "pressure =", "points[1].pressure", "is no key here, here and in 2 places more", "rise"),
        ("means =", "mean =", "mean", "is no key here", "means"),
    ],
)
def test_a_curve_of_the_plan_is_told_the_nearest_key(broken, old, new, key, message, near):
    curve = CURVE.replace("rpm =", "speed =") if old != "rpm =" else CURVE
    (fault,) = broken("[runs.F1]\n", curve.replace(old, new) + "[runs.F1]\n")
    assert (fault.table, fault.key, fault.message, fault.nearest) == ("own", key, message, near)


def test_a_source_that_says_nothing_is_asked_where_it_is_from(broken):
    curve = CURVE.replace("rpm =", "speed =").replace('source = "invented"', 'source = "?"')
    (fault,) = broken("[runs.F1]\n", curve + "[runs.F1]\n")
    assert str(fault).endswith('source: "?" is too short; expected where its figures are from, like "data sheet"')


def test_the_points_of_a_part_have_drops_and_no_pressures(broken):
    faults = broken("drop = [", "pressure = [")
    assert [(f.key, f.message, f.nearest) for f in faults] == [("points.pressure", "is no key here", "drop")]


def test_no_flow_at_all_is_told_with_an_example(broken):
    faults = broken('flow = ["30 gph", "60 gph", "90 gph"]', "flow = []")
    assert [(f.line, f.key, f.message, f.expected) for f in faults] == [
        (51, "points.flow", "is empty", '["30 gph", "60 gph", "90 gph"]')
    ]
