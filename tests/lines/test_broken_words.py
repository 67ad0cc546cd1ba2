"""Words of the trade for what linewright calls otherwise: each told once, with all that mends it.

Each plan is an example with one text changed.
"""

import pytest

FEED = 'points = "up", thread = "flare37 -4"'
CELL = 'thread = "flare37 -8" }'
SUMMER = 'fuel = { fluid = "gasoline-summer",'


@pytest.mark.parametrize(
    ("old", "new", "line", "table", "key", "message", "expected", "nearest"),
    [
        # another fluid, material, unit system or direction by the trade's word
        (
            SUMMER,
            'fuel = { fluid = "petrol",',
            14,
            "circuits.fuel",
            "fluid",
            '"petrol" is no fluid',
            '"gasoline-summer" or "gasoline-winter"',
            None,
        ),
        (
            'units = "us"',
            'units = "imperial"',
            8,
            "plan",
            "units",
            '"imperial" is none of the choices',
            '"us" or "metric"',
            "us",
        ),
        (
            'units = "us"',
            'units = "mm"',
            8,
            "plan",
            "units",
            '"mm" is none of the choices',
            '"us" or "metric"',
            "metric",
        ),
        (
            FEED,
            FEED.replace("up", "aft"),
            121,
            "components.turbo",
            "ports.feed.points",
            '"aft" is no direction',
            'a direction, like "down", "back 30 deg up" or "0.5, 0, -1"',
            "back",
        ),
        (
            FEED,
            FEED.replace("up", "up 45"),
            121,
            "components.turbo",
            "ports.feed.points",
            '"up 45" does not say toward where, nor the unit',
            '"up 45 deg" and a direction, like "back 30 deg up"',
            None,
        ),
        (
            'made_of = "iron"',
            'made_of = "alu"',
            115,
            "components.gallery",
            "ports.turbo.made_of",
            '"alu" is no metal',
            "one of steel, cu-ni, aluminium, stainless, iron, brass, copper, titanium",
            "aluminium",
        ),
        (
            'made_of = "iron"',
            'made_of = "nbr"',
            115,
            "components.gallery",
            "ports.turbo.made_of",
            '"nbr" is no metal',
            "one of steel, cu-ni, aluminium, stainless, iron, brass, copper, titanium",
            None,
        ),
        (
            SUMMER,
            SUMMER + ' seals = "cork",',
            14,
            "circuits.fuel",
            "seals",
            '"cork" is no rubber or plastic',
            "one of ptfe, nbr, fkm, epdm, silicone, hnbr, chloroprene, eco, fluorosilicone, nylon, polyurethane",
            None,
        ),
        (
            SUMMER,
            SUMMER + ' seals = "steel",',
            14,
            "circuits.fuel",
            "seals",
            '"steel" is no rubber or plastic',
            "one of ptfe, nbr, fkm, epdm, silicone, hnbr, chloroprene, eco, fluorosilicone, nylon, polyurethane",
            None,
        ),
        (
            'kind = "regulator"',
            'kind = "FPR"',
            61,
            "components.regulator",
            "kind",
            '"FPR" is no kind of component',
            '"regulator" or "feed-regulator"',
            None,
        ),
        (
            'reference = "manifold"',
            'reference = "boost"',
            63,
            "components.regulator",
            "reference",
            '"boost" is none of the choices',
            '"manifold" or "open air"',
            "manifold",
        ),
        # threads and hoses by the trade's names, and sizes that are not made
        (
            CELL,
            'thread = "AN-8" }',
            36,
            "components.cell",
            "ports.out.thread",
            '"AN-8" is no thread',
            None,
            "flare37 -8",
        ),
        (
            CELL,
            'thread = "1/8 NPT" }',
            36,
            "components.cell",
            "ports.out.thread",
            '"1/8 NPT" is no thread',
            None,
            "npt 1/8",
        ),
        (
            CELL,
            'thread = "M10x1" }',
            36,
            "components.cell",
            "ports.out.thread",
            '"M10x1" is no thread',
            "one of orb-metric M10x1, bubble M10x1, banjo M10x1",
            None,
        ),
        (
            '"ptfe-braid -4"',
            '"ptfe-braid -24"',
            134,
            "runs.O1",
            "stock",
            '"ptfe-braid -24" is no stock',
            "one of " + ", ".join(f"ptfe-braid -{n}" for n in (3, 4, 5, 6, 8, 10, 12, 16, 20)),
            None,
        ),
        (
            '"ptfe-braid -4"',
            '"hardline -4"',
            134,
            "runs.O1",
            "stock",
            '"hardline -4" is no stock',
            "one of tube-steel -4, tube-stainless -4, tube-aluminium -4, tube-cu-ni -4",
            None,
        ),
        # keys by the trade's words
        (
            'volts = { idle = "13.4 V"',
            'voltage = { idle = "13.4 V"',
            42,
            "components.pump",
            "voltage",
            "is no key here",
            "one of kind, ports, on, note, curve, volts, inlet_need, amps",
            "volts",
        ),
    ],
)
def test_one_fault_is_told_once_with_all_that_mends_it(broken, old, new, line, table, key, message, expected, nearest):
    told = [(f.line, f.table, f.key, f.message, f.expected, f.nearest) for f in broken(old, new)]
    assert told == [(line, table, key, message, expected, nearest)]
