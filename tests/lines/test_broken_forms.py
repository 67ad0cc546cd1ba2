"""A text for a list, a port without its name, a key left out: each told once, with all that mends it.

Each plan is an example with one text changed.
"""

import pytest

VIA = 'via = ["20, 5, 36 in"]'
FEED = 'points = "up", thread = "flare37 -4"'
SUMMER = 'fuel = { fluid = "gasoline-summer",'


@pytest.mark.parametrize(
    ("old", "new", "line", "table", "key", "message", "expected", "nearest"),
    [
        # a list, a table, a bare angle, an hour
        (
            VIA,
            'via = "20, 5, 36 in"',
            106,
            "runs.F4",
            "via",
            "must be a list in [ ]",
            'something like ["20, 8 1/2, 27 in"]',
            None,
        ),
        (
            VIA,
            VIA + '\nends = "90 deg"',
            107,
            "runs.F4",
            "ends",
            "must be a list in [ ]",
            'something like ["auto", "90 deg"]',
            None,
        ),
        (
            VIA,
            VIA + '\nbends = { turn = "90 deg", inside_radius = "5 in" }',
            107,
            "runs.F4",
            "bends",
            "must be a list in [ ]",
            'something like [{ turn = "90 deg", inside_radius = "5 in" }]',
            None,
        ),
        (
            'surface = { full = "30 in", low = "19 in" }',
            'surface = "30 in"',
            37,
            "components.cell",
            "surface",
            "must be a table",
            'something like { full = "30 in", low = "19 in" }',
            None,
        ),
        (
            'ports.feed = { at = "6, -10, 36 in", ' + FEED + " }",
            'ports.feed = "6, -10, 36 in"',
            130,
            "components.turbo",
            "ports.feed",
            "must be a table",
            'something like { at = "20, 8 1/2, 27 in", points = "forward", thread = "flare37 -6" }',
            None,
        ),
        (
            VIA,
            VIA + '\nclock = "3 o\'clock"',
            107,
            "runs.F4",
            "clock",
            '"3 o\'clock" is read off a dial',
            "an angle, counter-clockwise from 6 o'clock, where the near end's outlet points",
            "90 deg",
        ),
        # ports
        (
            'to = "pump.in"',
            'to = "pump"',
            78,
            "runs.F1",
            "to",
            '"pump" names no port',
            "one of pump.in, pump.out",
            None,
        ),
        (
            'to = "pump.in"',
            'to = "Pump.In"',
            78,
            "runs.F1",
            "to",
            '"Pump" is no component of this plan',
            "component.port",
            "pump.in",
        ),
        (
            'to = "pump.in"',
            'to = "cell.out"',
            78,
            "runs.F1",
            "to",
            'a run from "cell.out" to itself',
            "the port at its other end",
            None,
        ),
        (
            'from = "pump.out"',
            'from = "cell.out"',
            87,
            "runs.F2",
            "from",
            'the port "cell.out" is already taken by run F1',
            'one run to a port: where two lines meet, a component of kind = "tee"',
            None,
        ),
        (
            'ports.return = { at = "20, -7, 33 in"',
            'return = { at = "20, -7, 33 in"',
            72,
            "components.regulator",
            "return",
            "is a port, which stands under ports",
            'ports.return = { at = "20, 8 1/2, 27 in", points = "forward", thread = "flare37 -6" }',
            None,
        ),
        # a key that is missing has an example
        (
            'stock = "ptfe-braid -4"\n',
            "",
            141,
            "runs.O1",
            "stock",
            "is missing",
            'something like stock = "ptfe-braid -6"',
            None,
        ),
        (
            SUMMER,
            "fuel = {",
            14,
            "circuits.fuel",
            "fluid",
            "is missing",
            'something like fluid = "gasoline-summer"',
            None,
        ),
        (
            'temperature = "85 F", ',
            "",
            10,
            "plan",
            "ambient.temperature",
            "is missing",
            "a temperature of the air, like 85 F or 30 C",
            None,
        ),
        (
            'kind = "pump"\n',
            "",
            42,
            "components.pump",
            "kind",
            "kind is missing",
            "a kind of component, like tank, pump, filter, rail or regulator",
            None,
        ),
    ],
)
def test_one_fault_is_told_once_with_all_that_mends_it(broken, old, new, line, table, key, message, expected, nearest):
    told = [(f.line, f.table, f.key, f.message, f.expected, f.nearest) for f in broken(old, new)]
    assert told == [(line, table, key, message, expected, nearest)]


@pytest.mark.parametrize("thing", ["[]", "{}", "5", "true"])
def test_units_that_are_no_word_are_told_and_no_crash(broken, thing):
    assert [(f.line, f.key, f.expected) for f in broken('units = "us"', f"units = {thing}")] == [
        (8, "units", '"us" or "metric"')
    ]
