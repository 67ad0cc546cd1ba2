"""Blow-by from what a person knows of an engine, and the pressure in its crankcase."""

from dataclasses import replace

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given
from hypothesis import strategies as st
from writing import read, run, tube

from catalogs.errors import NoAnswerError, PlanError, UnknownInputError
from catalogs.grades import Grade
from catalogs.units import Quantity
from lines.graph import circuit
from solver.blowby import air_taken, blow_by, estimated
from solver.crankcase import crankcase_pressure
from solver.solution import Solution, Unsolved
from solver.study import study

ATMOSPHERE = 101_325.0
L_MIN = 1e-3 / 60
ENGINE = {"displacement": "5.0 L", "wear": "unworn"}
DUTY = {"engine_speed": "6000 rpm", "boost": "100 kPa"}
AIR = {"fluid": "air", "temperature": "60 C"}


def breathing(folder, *, crankcase=ENGINE, duties=None, air=AIR, ambient=None, bore="40 mm", **more):
    """A plan whose crankcase breathes through one tube into the open air."""
    return read(
        folder,
        plan={"ambient": ambient or {"temperature": "20 C", "altitude": "0 m"}},
        circuits={"line": air},
        duties=duties or {"steady": DUTY},
        components={"engine": {"kind": "crankcase", "ports": {"out": {}}} | crankcase, "far": {"kind": "open"}} | more,
        stock={"pipe": tube(bore)},
        runs={"V1": run("engine.out", "far.in", "pipe", length="1 m", length_is="overall")},
    )


def flow(plan):
    return blow_by(plan, circuit(plan, "line"), plan.components["engine"])


def test_a_four_stroke_fills_every_second_turn():
    # Worked by hand: 5 L at 6000 rpm, 50 fills a second: 0.25 m3/s; at 90 % 0.225.
    assert air_taken(0.005, np.array(200 * np.pi)) == pytest.approx(0.25)
    assert air_taken(0.005, np.array(200 * np.pi), 0.9) == pytest.approx(0.225)


@pytest.mark.parametrize(("celsius", "published"), [(60, 181), (100, 203)])
def test_a_share_of_an_air_mass_as_it_is_in_the_crankcase(tmp_path, celsius, published):
    # 300 kW of gasoline at 300 g/kWh and an air/fuel ratio of 12.8 take 0.32 kg/s, of which 1 % is 3.2 g/s: 181 L/min
    # at 60 C and 203 at 100 C, worked by hand. An engine that takes 0.32 kg/s at twice the pressure outside: its
    # displacement from the density of air by CoolProp 8. Half a litre is the rounding of the two figures, and 0.1 % how
    # far air is from an ideal gas.
    density = PropsSI("D", "P", 2 * ATMOSPHERE, "T", 293.15, "Air")
    size = 0.32 / density / 50
    engine = ENGINE | {"displacement": f"{size * 1000!r} L"}
    duty = DUTY | {"boost": f"{ATMOSPHERE / 1000!r} kPa"}
    plan = breathing(tmp_path, crankcase=engine, duties={"steady": duty}, air=AIR | {"temperature": f"{celsius} C"})
    assert flow(plan)[0] / L_MIN == pytest.approx(published, abs=0.5 + 0.001 * published)


def test_its_mass_is_the_share_of_the_mass_that_the_engine_takes(tmp_path):
    # At 1500 m and 35 C, by the densities of CoolProp alone; air is 0.1 % from an ideal gas there.
    ambient = {"temperature": "35 C", "altitude": "1500 m"}
    plan = breathing(tmp_path, ambient=ambient, crankcase=ENGINE | {"wear": "worn"}, air=AIR | {"temperature": "90 C"})
    outside = 84_556.0  # ISO 2533, 1500 m
    taken = PropsSI("D", "P", outside + 1e5, "T", 308.15, "Air") * 0.005 * 50
    assert flow(plan)[0] * PropsSI("D", "P", outside, "T", 363.15, "Air") == pytest.approx(0.05 * taken, rel=2e-3)


def test_a_stated_blow_by_wins_over_every_estimate(tmp_path):
    plan = breathing(tmp_path, crankcase=ENGINE | {"blow_by": "70 L/min"})
    assert flow(plan)[0] / L_MIN == pytest.approx(70)
    assert estimated(plan, circuit(plan, "line")) == ([], [])


@pytest.fixture(scope="module")
def by_wear(tmp_path_factory):
    """One plan for each wear, with two duties."""
    duties = {"less": DUTY, "more": DUTY}
    return {
        wear: breathing(tmp_path_factory.mktemp(wear), crankcase=ENGINE | {"wear": wear}, duties=duties)
        for wear in ("unworn", "used", "worn")
    }


@given(speed=st.floats(50, 1000), boost=st.floats(-80e3, 300e3), faster=st.floats(0, 100), harder=st.floats(1, 1e5))
def test_more_wear_speed_and_boost_never_blow_by_less(by_wear, speed, boost, faster, harder):
    def at(table, *, speed, boost):
        return table.model_copy(update={"engine_speed": speed, "boost": Quantity(boost, "boost", "gauge")})

    found = {}
    for wear, plan in by_wear.items():
        less = at(plan.duties["less"], speed=speed, boost=boost)
        more = at(plan.duties["more"], speed=speed + faster, boost=boost + harder)
        found[wear] = flow(replace(plan, duties={"less": less, "more": more}))
        assert 0 < found[wear][0] < found[wear][1]
    assert (found["unworn"] < found["used"]).all()
    assert (found["used"] < found["worn"]).all()


def test_no_manifold_is_under_a_vacuum(tmp_path):
    # ISO 2533 has 61 640 Pa at 4000 m, of which 9 psi, 62 053 Pa, would take more than all; 8.9 psi, 61 363, leave 277.
    high = {"temperature": "20 C", "altitude": "4000 m"}

    def idling(boost):
        return breathing(tmp_path, duties={"idle": DUTY | {"boost": boost}, "full": DUTY}, ambient=high)

    assert (flow(idling("-8.9 psi")) > 0).all()
    with pytest.raises(UnknownInputError, match=r"boost of -62 kPa in idle cannot be: .* at 4000 m") as told:
        flow(idling("-9 psi"))
    assert told.value.needs.startswith("boost in idle:")
    assert isinstance(study(idling("-9 psi")).solutions["line"], Unsolved)


def test_blow_by_into_a_liquid_is_refused(tmp_path):
    for engine in (ENGINE, {"blow_by": "70 L/min"}):
        plan = breathing(tmp_path, crankcase=engine, air={"fluid": "10w-40", "temperature": "90 C"})
        level = {"V1": plan.runs["V1"].model_copy(update={"rise": 0.0})}
        answer = study(replace(plan, runs=level)).solutions["line"]
        assert isinstance(answer, Unsolved)
        assert "what blows by into engine is a gas" in answer.error.reason
        assert 'fluid = "air" in [circuits.line]' in answer.error.needs


def test_the_gas_has_the_temperature_of_its_circuit_and_no_other(tmp_path):
    with pytest.raises(PlanError, match="temperature: is no key here"):
        breathing(tmp_path, crankcase=ENGINE | {"temperature": "100 C"})


def test_an_estimate_is_said_to_be_one_and_takes_the_grade_of_its_figures(tmp_path):
    said, grades = estimated(*(plan := breathing(tmp_path), circuit(plan, "line")))
    assert "engine: its blow-by was not measured, and counts as 1.0 %" in said[0]
    # The share of an unworn engine is published; the volumetric efficiency that nobody stated is practice.
    assert grades == [Grade.PUBLISHED, Grade.PRACTICE]
    answer = study(plan).solutions["line"]
    assert isinstance(answer, Solution)
    assert said[0] in answer.model.estimates


@pytest.mark.parametrize("lacks", ["displacement", "engine_speed", "boost"])
def test_what_the_estimate_lacks_is_asked_for(tmp_path, lacks):
    engine = {key: value for key, value in ENGINE.items() if key != lacks}
    duty = {key: value for key, value in DUTY.items() if key != lacks}
    answer = study(breathing(tmp_path, crankcase=engine, duties={"steady": duty})).solutions["line"]
    assert isinstance(answer, Unsolved)
    assert f"{lacks} in " in answer.error.needs
    assert "blow_by in [components.engine]" in answer.error.needs


def test_everything_that_it_lacks_is_asked_for_at_once(tmp_path):
    plan = breathing(tmp_path, crankcase={}, duties={"steady": {}})
    with pytest.raises(NoAnswerError) as told:
        flow(plan)
    assert all(f"{key} in" in told.value.needs for key in ("displacement", "engine_speed", "boost"))


# ---------------------------------------------------------------- the pressure in the crankcase


def test_the_pressure_in_the_crankcase_is_that_of_the_loss_of_its_line(tmp_path):
    # 200 L/min in 15 mm at 60 C: friction by Blasius, 0.316 / Re^0.25, a sharp inlet of K 0.5 and all of the velocity
    # at the outlet; Churchill differs from Blasius by up to 3 % of the friction in a smooth bore.
    plan = breathing(tmp_path, crankcase={"blow_by": "200 L/min"}, bore="15 mm")
    rho, mu = PropsSI("D", "P", ATMOSPHERE, "T", 333.15, "Air"), PropsSI("V", "P", ATMOSPHERE, "T", 333.15, "Air")
    speed = 200 * L_MIN / (np.pi * 0.015**2 / 4)
    friction = 0.316 / (rho * speed * 0.015 / mu) ** 0.25 / 0.015
    by_hand = (friction + 1.5) * rho * speed**2 / 2
    found = crankcase_pressure(study(plan).solutions)
    assert found is not None
    assert found.pressure[0] - ATMOSPHERE == pytest.approx(by_hand, rel=0.03)
    assert not found.at_least


def test_of_several_crankcases_the_highest_counts_and_none_is_passed_over(tmp_path):
    with pytest.raises(NoAnswerError):
        crankcase_pressure(study(breathing(tmp_path, crankcase={})).solutions)
    one = study(breathing(tmp_path, crankcase={"blow_by": "70 L/min"})).solutions
    more = study(breathing(tmp_path, crankcase={"blow_by": "120 L/min"})).solutions
    both = crankcase_pressure({"one": one["line"], "more": more["line"]})
    assert both.pressure == pytest.approx(crankcase_pressure(more).pressure)
    # Five times a tenth of its pressure: one density no longer serves, and what was found is the least that it is.
    narrow = breathing(tmp_path, crankcase={"blow_by": "900 L/min"}, bore="9 mm")
    assert crankcase_pressure(study(narrow).solutions).at_least
    assert crankcase_pressure({}) is None
