"""Plans broken the way people break them: each message names the place, what was expected and the nearest word."""

import shutil
from importlib import resources

import pytest

from catalogs.errors import InputError, PlanError
from lines.reading import read_plan

LENGTH = 'length = "14 5/8 in" '


@pytest.fixture
def broken(tmp_path):
    """Copies the example, changes one text of its plan, and gives the faults of reading it."""

    def change(old, new, *, example="fuel-return"):
        with resources.as_file(resources.files("lines") / "examples" / example) as folder:
            shutil.copytree(folder, tmp_path, dirs_exist_ok=True)
        plan = tmp_path / "plan.toml"
        text = plan.read_text(encoding="utf-8")
        assert old in text
        changed = text.replace(old, new, 1)
        plan.write_text(changed, encoding="utf-8")
        with pytest.raises(InputError) as caught:
            read_plan(plan)
        return caught.value.faults

    return change


@pytest.mark.parametrize(
    ("old", "new", "line", "key", "message", "nearest"),
    [
        # a unit without quotes, as on a note
        (LENGTH, "length = 14 5/8 in ", 74, "length", "a unit without quotes", None),
        # curly quotes from a word processor
        ('title = "Example', "title = “Example", 6, "title", "curly quotes", None),
        # a number without its unit
        (LENGTH, 'length = "14 5/8"', 74, "length", '"14 5/8" has no unit', None),
        (LENGTH, "length = 14.625", 74, "length", "a bare number (14.625): write the unit, in quotes", None),
        # a unit of something else
        (LENGTH, 'length = "14 5/8 psi"', 74, "length", '"psi" is a unit of pressure, not of length', None),
        # a misspelt key
        (LENGTH, 'lenght = "14 5/8 in"', 74, "lenght", "is no key here", "length"),
        # a port that is not there, and one of a component that is not there
        ('from = "pump.out"', 'from = "pump.outlet"', 81, "from", 'pump has no port "outlet"', "pump.out"),
        ('from = "pump.out"', 'from = "pmup.out"', 81, "from", '"pmup" is no component of this plan', "pump.out"),
        # a hose that the tables do not hold
        ('"ptfe-braid -8"', '"ptfe-brade -8"', 73, "stock", '"ptfe-brade -8" is no stock', "ptfe-braid -8"),
        # a hose end in an angle that is not made
        (', "straight"]', ', "70 deg"]', 76, "ends", '"70 deg" is no end of ptfe-braid -8', "90 deg"),
        # a fluid by another name
        ('"gasoline-summer", t', '"gas-summer", t', 14, "fluid", '"gas-summer" is no fluid', "gasoline-summer"),
        # a kind by the shop's word
        ('kind = "pump"', 'kind = "fuel-pump"', 40, "kind", '"fuel-pump" is no kind of component', "pump"),
        # a duty forgotten, a duty misspelt
        ('cruise = "13.4 V", full', "full", 42, "volts", "has no value for cruise", None),
        ('idle = "13.4 V", cru', 'idel = "13.4 V", cru', 42, "volts", '"idel" is no duty of this plan', "idle"),
        # a sign in an attitude
        ('nose_up = "60 %"', 'nose_up = "-60 %"', 24, "nose_up", "carries a sign", None),
        # a table in braces over two lines
        ("idle = { boost", "idle = {\n  boost", 19, "idle", "a table in { } broken over two lines", None),
        # one port, two hoses
        ('to = "rail.in"', 'to = "filter.in"', 90, "to", 'the port "filter.in" is already taken by run F2', None),
        # a length without saying which
        ('length_is = "seat-to-seat"', "", 68, None, "length without length_is", None),
        # a folder that leads out
        ('shop = "shop"', 'shop = "../shop"', 11, "shop", '"../shop" leads out of the plan\'s folder', None),
        # a key of a run left out
        ('circuit = "oil"\n', "", 129, "circuit", "is missing", None),
        # a comma for a point
        (LENGTH, 'length = "14,625 in"', 74, "length", '"14,625 in" has a comma in its number: write a point', None),
        # a direction misspelt
        ('"forward", th', '"foward", th', 36, "ports.out.points", '"foward" is no direction', "forward"),
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
