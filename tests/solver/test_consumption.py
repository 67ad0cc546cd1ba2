"""The specific consumption of a duty against its fuel: the slip of one fuel's figure with another fuel."""

import pytest
from fuelled import LIQUID, fuel_plan
from writing import FLUID

from catalogs.catalog import Catalog
from lines.finding import Verdict
from solver.checks.consumption import fits
from solver.study import study

FULL = {"boost": "100 kPa", "crank_power": "120 kW"}
LHV = {"gasoline": 18676.0, "ethanol": 11585.0, "methanol": 8637.0}
"""US DOE Alternative Fuels Data Center, Properties of Fuels [Btu/lb]."""


def judged(folder, bsfc, *, family="gasoline", full=FULL, **facts):
    duties = {"idle": {"boost": "-50 kPa", "burn": "1 L/h"}, "full": full | {"bsfc": bsfc}}
    return fits(study(fuel_plan(folder, liquid=LIQUID | {"family": family}, duties=duties, **facts)))


@pytest.mark.parametrize(
    ("family", "bsfc", "verdict"),
    [
        ("gasoline", "0.60 lb/(hp h)", Verdict.PASS),
        ("gasoline", "0.50 lb/(hp h)", Verdict.CAUTION),
        ("gasoline", "1.1 lb/(hp h)", Verdict.CAUTION),
        ("ethanol-high", "0.60 lb/(hp h)", Verdict.CAUTION),
        ("ethanol-high", "0.80 lb/(hp h)", Verdict.PASS),
        ("ethanol-blend", "0.62 lb/(hp h)", Verdict.PASS),
    ],
)
def test_it_is_held_against_its_fuel(tmp_path, family, bsfc, verdict):
    (found,) = judged(tmp_path, bsfc, family=family)
    assert found.verdict is verdict
    assert found.id == "fuel.bsfc/line"


def test_e85_with_the_figure_of_gasoline_says_how_much_more_it_burns(tmp_path):
    (found,) = judged(tmp_path, "365 g/kWh", family="ethanol-high")
    # 120 kW by 365 g/kWh, and by 0.70 lb/(hp h), 425.8 g/kWh (1 lb/(hp h) is 608.28 g/kWh).
    assert "43.8 kg/h are burnt" in found.why.say("metric")
    assert "with boost" in found.why.say("metric")
    assert "426 g/kWh or more (51.1 kg/h or more)" in found.change.say("metric")


def test_without_boost_only_the_least_is_asked(tmp_path):
    full = {"boost": "0 kPa", "crank_power": "120 kW"}
    (rich,) = judged(tmp_path, "0.90 lb/(hp h)", full=full)
    (lean,) = judged(tmp_path, "0.40 lb/(hp h)", full=full)
    (unknown,) = judged(tmp_path, "0.50 lb/(hp h)", full={"crank_power": "120 kW"}, components=OPEN_AIR)
    assert [one.verdict for one in (rich, lean, unknown)] == [Verdict.PASS, Verdict.CAUTION, Verdict.PASS]
    assert "with boost" not in lean.why.say("metric")


OPEN_AIR = {
    "regulator": {
        "kind": "regulator",
        "set": "300 kPa",
        "reference": "open air",
        "points": {"fluid": "liquid", "temperature": "20 C", "flow": ["300 L/h"], "drop": ["20 kPa"]},
        "ports": {"in": {"at": "200, 0, 900 mm"}, "return": {"at": "200, 0, 880 mm"}},
    }
}


def test_wheel_power_counts_and_what_a_stated_burn_decides_does_not(tmp_path):
    wheel = {"boost": "100 kPa", "wheel_power": "100 kW", "driveline_loss": "15 %"}
    (found,) = judged(tmp_path, "0.50 lb/(hp h)", full=wheel)
    assert found.verdict is Verdict.CAUTION
    assert judged(tmp_path, "0.50 lb/(hp h)", full=FULL | {"burn": "150 L/h"}) == []


def test_a_fuel_of_which_nothing_is_known_is_not_judged(tmp_path):
    assert judged(tmp_path, "0.30 lb/(hp h)", family="diesel") == []


def test_methanol_is_known_by_its_own_name(tmp_path):
    plan = fuel_plan(
        tmp_path,
        duties={"full": FULL | {"bsfc": "0.60 lb/(hp h)"}},
        more_circuits={"line": {"fluid": "methanol", "temperature": "20 C"}},
    )
    (found,) = fits(study(plan))
    assert found.verdict is Verdict.CAUTION


@pytest.mark.parametrize("boosted", ["", ".boosted"])
def test_no_range_asks_for_more_than_the_fuel_has_in_it(boosted):
    # By the heating values of the DOE's table: brake work of spark ignition is under 40 % of them, and over 15 %.
    e85 = (0.85 * 0.789 * LHV["ethanol"] + 0.15 * 0.745 * LHV["gasoline"]) / (0.85 * 0.789 + 0.15 * 0.745)
    for name, lhv in (("gasoline", LHV["gasoline"]), ("ethanol-high", e85), ("methanol", LHV["methanol"])):
        limit = Catalog().limit(f"fuel.bsfc.{name}{boosted}")
        for bound in (limit.caution_below, limit.caution_above):
            if bound is not None:
                assert 0.15 < 1 / (bound * lhv * 2326.0) < 0.40, name


def test_where_the_measured_air_burns_more_it_decides_nothing(tmp_path):
    # 120 kW at 0.40 lb/(hp h) are 29.2 kg/h; 500 kg/h of air at lambda 0.8 and 14.6 burn 42.8, 250 kg/h 21.4.
    liquid = LIQUID | {"stoichiometric": {"ratio": "14.6"} | FLUID}

    def found(air):
        full = FULL | {"bsfc": "0.40 lb/(hp h)", "air_flow": air, "lambda": "0.8"}
        return fits(study(fuel_plan(tmp_path, liquid=liquid, duties={"full": full})))

    assert found("500 kg/h") == []
    (low,) = found("250 kg/h")
    assert low.verdict is Verdict.CAUTION
    assert "29.2 kg/h are burnt" in low.why.say("metric")
