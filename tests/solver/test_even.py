"""Injectors along their rails: by the closed form of a manifold, and how evenly those of two rails are fed."""

import re

import numpy as np
import pytest
from fluids import friction_factor
from fuelled import HOSE, fuel_plan
from writing import fluid, line, read, run, tube

from catalogs.errors import InputError
from lines.finding import Verdict
from solver.checks import fuelrail
from solver.checks.even import Fed, fed
from solver.checks.injectors import duty_cycle
from solver.fuels import felt, rails
from solver.study import study

RHO, MU = 750.0, 0.5e-3
FULL = {"full": {"boost": "100 kPa", "burn": "180 L/h"}}
LITRES = 3.6e6  # L/h in a m3/s
RAIL = {"kind": "rail", "bore": "14 mm", "length": "400 mm", "injectors": "4"}
SHORT = {"length": "400 mm", "length_is": "overall", "rise": "0 mm"}
BIG = [{"volts": "13 V", "rise": f"{p} kPa", "flow": f"{q} L/h"} for p, q in {0: 600, 300: 450, 600: 300}.items()]
PUMP = {
    "pump": {"curve": "big"},
    "more_curves": {"big": {"means": "invented", "points": BIG, "source": "invented", "grade": "illustrative"}},
}


# ---------------------------------------------------------------- one rail that ends blind


def blind(folder, injectors, *, bore=4.0, burn=200.0, duties=None):
    """A known pressure and a rail that ends blind; bore in mm, burn in L/h."""
    rail = {"kind": "rail", "bore": f"{bore} mm", "length": "800 mm", "roughness": "1.5 um"}
    return read(
        folder,
        fluids={"liquid": fluid(f"{RHO} kg/m3", f"{MU * 1e3} mPa s", family="gasoline")},
        circuits={"line": {"fluid": "liquid", "temperature": "20 C"}},
        duties=duties or {"full": {"boost": "0 kPa", "burn": f"{burn} L/h"}},
        stock={"hose": tube(f"{bore} mm")},
        components={
            "feed": {"kind": "source", "pressure": "400 kPa", "ports": {"out": {"height": "0 m"}}},
            "rail": rail | ({} if injectors is None else {"injectors": injectors}),
        },
        runs={"F1": run("feed.out", "rail.in", "hose", length="1 m", length_is="overall", rise="0 m")},
    )


@pytest.mark.parametrize("injectors", [1, 3, 4])
def test_a_blind_rail_is_the_sum_of_its_friction_and_of_the_momentum_that_comes_back(tmp_path, injectors):
    # N equal draws, L/N apart, the first L/2N from the inlet: one draw less flow in each stretch than before.
    # Friction by Colebrook, from which the solver's factor differs by 0.15 % at 200 L/h and 1.1 % at a quarter of it.
    answer = line(blind(tmp_path, str(injectors)))
    bore, flow = 0.004, 200.0 / LITRES
    area = np.pi * bore**2 / 4
    static = answer.total("rail.in")[0] - RHO * (flow / area) ** 2 / 2
    before, lost = flow, 0.0
    for i in range(injectors):
        speed = before / area
        factor = friction_factor(Re=RHO * speed * bore / MU, eD=1.5e-6 / bore)
        length = 0.8 / injectors * (0.5 if i == 0 else 1.0)
        static -= factor * length / bore * RHO * speed**2 / 2
        lost += factor * length / bore * RHO * speed**2 / 2
        after = flow * (injectors - 1 - i) / injectors
        # Momentum over one draw, which carries off the mean of the two speeds: at the tap half way through it.
        tap = (before + after) / 2
        rise = (RHO * (before**2 - tap**2) - RHO * (before - tap) * (before + tap) / 2) / area**2
        assert felt(answer, f"rail.injector {i + 1}")[0] == pytest.approx(static + rise, abs=0.011 * lost)
        static += RHO * (before**2 - after**2) / 2 / area**2
        before = after


def test_in_a_wide_short_rail_the_last_injector_has_the_most(tmp_path):
    # Friction is little there and the speed of the fuel all comes back: rho v^2 / 2 of it between the ends.
    answer = line(blind(tmp_path, "4", bore=8.0, burn=400.0))
    each = [felt(answer, node)[0] for node in rails(answer.model.circuit)["rail"]]
    assert np.argmin(each) == 0
    assert each == sorted(each)


def test_each_injector_draws_its_part_and_a_rail_of_unknown_number_draws_in_the_middle(tmp_path):
    answer = line(blind(tmp_path, "4"))
    nodes = rails(answer.model.circuit)["rail"]
    assert nodes == [f"rail.injector {i}" for i in (1, 2, 3, 4)]
    taken = [answer.model.batch.taken[0, answer.model.number[node]] * LITRES for node in nodes]
    assert taken == pytest.approx([50.0] * 4)
    stretches = [answer.flow(name)[0] * LITRES for name in answer.model.edges if name.startswith("rail:")]
    assert stretches == pytest.approx([200, 150, 100, 50])
    lengths = [p.length for n in answer.model.edges if n.startswith("rail:") for p in answer.model.resistances[n].pipes]
    assert lengths == pytest.approx([0.1, 0.2, 0.2, 0.2])
    unknown = line(blind(tmp_path, None))
    assert rails(unknown.model.circuit) == {"rail": ["rail.middle"]}
    # One injector is the rail's middle, too.
    one = line(blind(tmp_path, "1"))
    assert felt(one, "rail.injector 1") == pytest.approx(felt(unknown, "rail.middle"), abs=1e-6)


@pytest.mark.parametrize("injectors", ["0", "2.5", "25", "-1", "eight", {"full": "4", "otherwise": "2"}])
def test_injectors_that_cannot_be_counted_are_refused(tmp_path, injectors):
    with pytest.raises(InputError) as refusal:
        blind(tmp_path, injectors)
    (fault,) = refusal.value.faults
    assert (fault.table, fault.key) == ("components.rail", "injectors")
    assert "whole number" in fault.expected


# ---------------------------------------------------------------- two rails


def in_series(folder, crossover, *, duties=FULL, **facts):
    """Two rails, the second fed from the first through a hose of this stock."""
    runs = {
        "F3": run("rail.out", "second.in", crossover, **SHORT),
        "F5": run("second.out", "regulator.in", "hose", **SHORT),
    }
    components = {"rail": RAIL | facts, "second": RAIL | facts}
    return study(fuel_plan(folder, duties=duties, components=components, runs=runs, **PUMP))


def test_rails_in_series_through_a_thin_crossover_starve_the_second_and_the_hose_that_is_said_cures_it(tmp_path):
    (found,) = fed(in_series(tmp_path, "ptfe-braid -3"))
    assert (found.id, found.verdict) == ("fuel.even/line", Verdict.FAIL)
    said = found.why.say("metric")
    assert re.search(r"injector \d of second, counted from its inlet, is fed the worst", said)
    assert re.search(r"less than injector \d of rail, the best fed", said)
    assert re.search(r"Between them, [\d.]+ kPa the hose of F3", said)
    assert found.worst.station.endswith("of second")
    cure = re.search(r"F3 in (ptfe-braid -\d+).*: then ([\d.]+) % less at the most", found.change.say("metric"))
    (wider,) = fed(in_series(tmp_path, cure[1]))
    assert wider.verdict is Verdict.PASS
    assert wider.value.value * 100 == pytest.approx(float(cure[2]), abs=0.051)


def test_how_much_less_is_by_the_root_of_the_pressure_across(tmp_path):
    made = in_series(tmp_path, "ptfe-braid -3")
    (found,) = fed(made)
    answer = made.solutions["line"]
    across = [felt(answer, n)[0] - 201325.0 for nodes in rails(answer.model.circuit).values() for n in nodes]
    assert len(across) == 8
    assert found.value.value == pytest.approx(1 - (min(across) / max(across)) ** 0.5, rel=1e-9)


def test_the_worst_injector_of_a_rail_is_the_one_that_is_judged(tmp_path):
    rated = {"injector_flow": "500 cc/min", "injector_drop": "300 kPa"}
    made = in_series(tmp_path, "ptfe-braid -3", bore="4 mm", **rated)
    answer = made.solutions["line"]
    for found, check in ((f, c) for c in (fuelrail.rail, duty_cycle) for f in c(made)):
        each = [felt(answer, n)[0] - 201325.0 for n in rails(answer.model.circuit)[found.place]]
        if check is duty_cycle:
            assert found.worst.station == f"injector {np.argmin(each) + 1} from its inlet"
            # 22.5 L/h of 30 L/h of the test liquid, of 684 kg/m3, at 300 kPa.
            share = 22.5 / (30 * np.sqrt(684 / RHO * min(each) / 300e3))
            assert found.value.value == pytest.approx(share, rel=1e-4)
        else:
            off = [abs(x / 300e3 - 1) for x in each]
            assert found.worst.station == f"injector {np.argmax(off) + 1} from its inlet"
            assert abs(found.value.value) == pytest.approx(max(off), rel=1e-9)


def test_rails_whose_injectors_nobody_counts_are_compared_by_their_middles_and_it_is_said(tmp_path, monkeypatch):
    monkeypatch.delitem(RAIL, "injectors")
    made = in_series(tmp_path, "ptfe-braid -3")
    (found,) = fed(made)
    assert (found.verdict, found.worst.station) == (Verdict.FAIL, "second")
    said = found.why.say("metric")
    assert said.startswith("At full second is fed the worst")
    assert said.endswith("Nobody states the injectors of rail and second: the middle stands for all of them.")


def from_a_tee(folder, left, right, *, balance=None, places=True, **facts):
    """Two rails that end blind on a tee behind the regulator."""
    runs = {
        "F2": run("pump.out", "regulator.in", "hose", **HOSE, rise="650 mm"),
        "F3": run("regulator.out", "tee.branch", "hose", **SHORT),
        "F5": run("tee.a", "rail.in", left, **SHORT),
        "F6": run("tee.b", "second.in", right, **SHORT | {"length": "1500 mm" if right != left else "400 mm"}),
    }
    if balance:
        runs["F7"] = run("rail.out", "second.out", balance, length="500 mm", length_is="seat-to-seat")
    far = [{"ports": {"out": {"at": f"600, {y}, 900 mm"}}} if places else {} for y in (250, -250)]
    components = {
        "rail": RAIL | facts | far[0],
        "second": RAIL | facts | far[1],
        "tee": {"kind": "tee", "bore": "8 mm"},
    }
    return study(fuel_plan(folder, duties=FULL, components=components, runs=runs, **PUMP))


def test_rails_side_by_side_from_a_tee_are_even_by_symmetry(tmp_path):
    made = from_a_tee(tmp_path, "hose", "hose")
    answer = made.solutions["line"]
    left, right = ([felt(answer, n)[0] for n in nodes] for nodes in rails(answer.model.circuit).values())
    assert left == pytest.approx(right, abs=1e-3)
    (found,) = fed(made)
    assert found.verdict is Verdict.PASS


def test_blind_rails_on_unlike_feeds_are_uneven_without_a_balance_line_and_even_with_the_one_that_is_said(tmp_path):
    (found,) = fed(from_a_tee(tmp_path, "hose", "ptfe-braid -3"))
    assert found.verdict is Verdict.FAIL
    assert "the hose of F6" in found.why.say("metric")
    said = found.change.say("metric")
    cure = re.search(r"balance line in (\S+) from rail.out to second.out, straight across: then ([\d.]+) %", said)
    (even,) = fed(from_a_tee(tmp_path, "hose", "ptfe-braid -3", balance=cure[1]))
    assert even.verdict is Verdict.PASS
    assert even.value.value * 100 == pytest.approx(float(cure[2]), abs=0.051)
    assert even.value.value == pytest.approx(
        next(
            part.value
            for key, part in found.change.parts.items()
            if key == f"then{said[: said.index('balance')].count('; or ')}"
        ),
        rel=1e-3,
    )


def test_no_balance_line_is_offered_where_nobody_says_where_it_would_lie(tmp_path):
    (found,) = fed(from_a_tee(tmp_path, "hose", "ptfe-braid -3", places=False))
    assert "balance" not in found.change.say("metric")


def test_one_thin_rail_is_cured_by_the_bore_that_is_said(tmp_path):
    def judged(bore):
        rail = RAIL | {"bore": f"{bore} mm"}
        (found,) = fed(study(fuel_plan(tmp_path, duties=FULL, components={"rail": rail})))
        return found

    found = judged(2.5)
    assert found.verdict is not Verdict.PASS
    assert "the bore of rail" in found.why.say("metric")
    times = re.search(r"a rail like rail with ([\d.]+) times its bore", found.change.say("metric").lower())
    assert judged(2.5 * float(times[1])).verdict is Verdict.PASS


def from_a_source(folder, rails_, *, valves=None, hose="12 mm", duties=FULL, heights=None):
    """A known pressure and rails on a tee, each behind its own feed regulator where there are valves."""
    runs = {"F0": run("feed.out", "tee.branch", "hose", **SHORT)}
    for leg, name in zip("ab", rails_, strict=True):
        if valves:
            runs |= {f"V{leg}": run(f"tee.{leg}", f"valve_{name}.in", "hose", **SHORT)}
        start = f"valve_{name}.out" if valves else f"tee.{leg}"
        rise = (heights or {}).get(name, "0 mm")
        runs |= {f"R{leg}": run(start, f"{name}.in", "hose", **SHORT | {"length": "1 m", "rise": rise})}
    own = {
        "kind": "feed-regulator",
        "reference": "manifold",
        "slope": "0 kPa per 100 L/h",
        "points": {"fluid": "liquid", "temperature": "20 C", "flow": ["200 L/h"], "drop": ["30 kPa"]},
    }
    return read(
        folder,
        fluids={"liquid": fluid(f"{RHO} kg/m3", f"{MU * 1e3} mPa s", family="gasoline")},
        circuits={"line": {"fluid": "liquid", "temperature": "20 C"}},
        duties=duties,
        stock={"hose": tube(hose)},
        components={
            "feed": {"kind": "source", "pressure": "800 kPa", "ports": {"out": {"height": "0 m"}}},
            "tee": {"kind": "tee", "bore": hose},
        }
        | {name: RAIL | facts for name, facts in rails_.items()}
        | {f"valve_{name}": own | {"set": base} for name, base in (valves or {}).items()},
        runs=runs,
    )


def test_rails_that_are_set_apart_on_purpose_are_each_even_by_themselves(tmp_path):
    rated = {"injector_drop": "300 kPa"}
    rails_ = {"first": rated | {"injector_flow": "500 cc/min"}, "second": rated | {"injector_flow": "900 cc/min"}}
    found = fed(study(from_a_source(tmp_path, rails_, valves={"first": "300 kPa", "second": "400 kPa"})))
    assert [one.id for one in found] == ["fuel.even/valve_first", "fuel.even/valve_second"]
    assert {one.verdict for one in found} == {Verdict.PASS}
    # Behind no valve of their own they are one group, and what counts is each against its own rating.
    (found,) = fed(study(from_a_source(tmp_path, rails_)))
    assert found.id == "fuel.even/line"
    said = found.why.say("metric")
    assert said.endswith("The injectors of first and second are rated apart: each counts against its own rating.")


@pytest.mark.parametrize("bore", ["14 mm", "5 mm"])
def test_what_stands_between_the_two_adds_up_to_what_they_are_apart(tmp_path, bore):
    # Rails at unlike heights: of still fuel 300 mm are 2.2 kPa; in a thin bore the speed counts too.
    plan = from_a_source(tmp_path, {"low": {"bore": bore}, "up": {"bore": bore}}, heights={"up": "300 mm"})
    answer = line(plan)
    one = Fed(answer, ["low", "up"], np.array([201325.0]), "")
    takes = one.takes(0)
    assert float(sum(drop[0] for drop in takes.values())) == pytest.approx(float(np.ptp(one.across[:, 0])), abs=1.0)
    assert takes["the height of up"][0] == pytest.approx(RHO * 9.80665 * 0.3, rel=1e-3)
    speed = next(drop[0] for name, drop in takes.items() if name.startswith("the speed"))
    assert (abs(speed) > 50) == (bore == "5 mm")


def test_the_duty_that_is_least_even_counts_for_what_is_offered(tmp_path):
    # Where less is burnt more goes on through the crossover to the regulator.
    both = FULL | {"calm": {"boost": "0 kPa", "burn": "20 L/h"}}
    (found,) = fed(in_series(tmp_path, "ptfe-braid -3", duties=both))
    cure = re.search(r"F3 in (ptfe-braid -\d+).*: then ([\d.]+) % less at the most", found.change.say("metric"))
    (wider,) = fed(in_series(tmp_path, cure[1], duties=both))
    assert wider.worst.duty == "calm"
    assert wider.value.value * 100 == pytest.approx(float(cure[2]), abs=0.051)


def test_where_the_pressure_is_not_held_its_margin_is_named_first(tmp_path):
    rail = RAIL | {"bore": "2.5 mm"}
    (found,) = fed(study(fuel_plan(tmp_path, duties=FULL, components={"rail": rail})))
    said = found.change.say("metric")
    assert said.startswith("At full the pressure of the rails is not held: see fuel.margin/line first.")


def test_a_starved_rail_is_cured_by_its_crossover_before_larger_injectors(tmp_path):
    made = from_a_tee(tmp_path, "hose", "ptfe-braid -3", injector_flow="500 cc/min", injector_drop="300 kPa")
    answer = made.solutions["line"]
    second = next(found for found in duty_cycle(made) if found.place == "second")
    said = second.change.say("metric")
    then = re.match(r"What fuel.even/line asks for: fed as the best-fed are, they are driven ([\d.]+) %", said)
    assert second.value.value * 100 > 80 > float(then[1])
    first, last = ([felt(answer, n)[0] - 201325.0 for n in nodes] for nodes in rails(answer.model.circuit).values())
    share = second.value.value * np.sqrt(min(last) / max(first))
    assert float(then[1]) == pytest.approx(share * 100, abs=0.06)
    low = next(found for found in fuelrail.rail(made) if found.place == "second")
    assert low.verdict is not Verdict.PASS
    assert re.match(r"The most between regulator and second takes the .* of F6, [\d.]+ kPa", low.change.say("metric"))


def test_one_place_for_all_injectors_is_not_judged_and_an_unknown_manifold_is_asked_for(tmp_path):
    one = study(fuel_plan(tmp_path, duties=FULL))
    assert fed(one) == []
    (found,) = fed(study(blind(tmp_path, "4", duties={"full": {"burn": "200 L/h"}})))
    assert (found.verdict, found.needs) == (Verdict.UNCHECKED, "boost in full")
