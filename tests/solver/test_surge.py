"""Surge tanks: what comes in against what the main pump draws, and how long one lasts."""

import re

import pytest
from fuelled import CURVE, HOSE, fuel_plan
from writing import run

from lines.finding import Verdict
from solver.checks.surge import fills
from solver.checks.surgeair import gets_out
from solver.study import study

SHORT = {"length": "1 m", "length_is": "overall"}


def surge_plan(
    folder,
    lift,
    *,
    overflow=True,
    surge=None,
    over=SHORT,
    ports=None,
    attitudes=None,
    overflow_in="hose",
    due=None,
    full_lasts=None,
):
    """The pump of the plain system draws from a surge tank, which a lift pump with so many times its flow fills."""
    curve = [{"volts": "13 V", "rise": f"{p / 10} kPa", "flow": f"{lift * q} L/h"} for p, q in CURVE.items()]
    tank = {
        "kind": "surge-tank",
        "surface": {"full": "950 mm", "low": "850 mm"},
        "volume": "1.5 L",
        "ports": {
            "in": {"at": "-1700, 0, 900 mm"},
            "out": {"at": "-1700, 0, 700 mm"},
            "return": {"at": "-1700, 0, 800 mm"},
            "over": {"at": "-1700, 0, 1000 mm"},
        },
    }
    runs = {
        "F1": run("tank.out", "lift.in", "hose", **SHORT),
        "F5": run("lift.out", "surge.in", "hose", **SHORT),
        "F6": run("surge.out", "pump.in", "hose", **SHORT),
        "F4": run("regulator.return", "surge.return", "hose", **HOSE),
        "F7": run("surge.over", "tank.return", overflow_in, **over),
    }
    filters = {}
    if due is not None:
        runs |= {"F1": run("tank.out", "sock.in", "hose", **SHORT), "F8": run("sock.out", "lift.in", "hose", **SHORT)}
        points = {"fluid": "liquid", "temperature": "20 C", "flow": ["200 L/h"], "drop": ["0.2 kPa"]}
        ports_ = {"in": {"at": "-1800, 0, 250 mm"}, "out": {"at": "-1790, 0, 250 mm"}}
        filters = {"sock": {"kind": "filter", "points": points, "loaded": due, "ports": ports_}}
    if not overflow:
        del runs["F7"]
        tank["ports"] = {key: port for key, port in tank["ports"].items() if key != "over"}
    tank["ports"] |= ports or {}
    lift_pump = {
        "kind": "pump",
        "curve": "lift",
        "volts": "13 V",
        "ports": {"in": {"at": "-1780, 0, 250 mm"}, "out": {"at": "-1750, 0, 250 mm"}},
    }
    duties = {"idle": {"boost": "-50 kPa", "burn": "4 L/h"}, "full": {"boost": "100 kPa", "burn": "140 L/h"}}
    if full_lasts is not None:
        duties["full"]["lasts"] = full_lasts
    return fuel_plan(
        folder,
        duties=duties,
        attitudes=attitudes or {},
        components={"surge": tank | (surge or {}), "lift": lift_pump} | filters,
        runs=runs,
        more_curves={"lift": {"means": "invented", "points": curve, "source": "invented", "grade": "illustrative"}},
    )


def judged(folder, *args, **facts):
    (found,) = fills(study(surge_plan(folder, *args, **facts)))
    return found


def test_what_comes_in_and_is_not_drawn_runs_over(tmp_path):
    found = judged(tmp_path, 1.5)
    assert found.verdict is Verdict.PASS
    came, drawn, over = (float(x) for x in re.findall(r"([\d.]+) L/h", found.why.say("metric"))[:3])
    assert came - drawn == pytest.approx(over, abs=2)
    assert found.worst.duty == "full"


def test_a_lift_pump_that_is_too_small_lets_it_run_empty_in_the_time_that_is_said(tmp_path):
    found = judged(tmp_path, 0.2)
    assert (found.verdict, found.worst.duty) == (Verdict.FAIL, "full")
    said = found.why.say("metric")
    missing, lasts = (
        float(re.search(r"([\d.]+) L/h are missing", said)[1]),
        float(re.search(r"lasts ([\d.]+) s", said)[1]),
    )
    # 1.5 L at what is missing.
    assert lasts == pytest.approx(1.5 / missing * 3600, rel=0.02)
    pattern = r"brings ([\d.]+) L/h at full at ([\d.]+) kPa .* ([\d.]+) L/h more"
    wanted, rise, more = (float(x) for x in re.search(pattern, found.change.say("metric")).groups())
    assert more > missing
    # A lift pump of as much more flow at every rise is then enough, and only just.
    now = wanted - more
    assert judged(tmp_path, 0.2 * 1.02 * wanted / now).verdict is Verdict.PASS
    assert judged(tmp_path, 0.2 * 0.95 * wanted / now).verdict is not Verdict.PASS
    assert 0 < rise < 60


def test_without_its_lift_pump_it_lasts_by_what_is_burnt(tmp_path):
    # What the engine does not burn comes back into it.
    said = judged(tmp_path, 1.5).why.say("metric")
    lasts = float(re.search(r"lasts ([\d.]+) s", said)[1])
    assert lasts == pytest.approx(1.5 / 140 * 3600, rel=0.01)
    # Of its volume alone that is the most: what lies under its mouth is no use.
    assert "s at most, to the last of its volume: the box that holds the liquid of surge is not known" in said


def test_a_filter_before_the_lift_pump_that_is_due_brings_less(tmp_path):
    def balance(due):
        found = judged(tmp_path, 1.2, due=due)
        return found, {c.state.duty: c.value.value for c in found.cases}["full"]

    clean, before = balance("1")
    found, after = balance("60")
    assert clean.verdict is Verdict.PASS
    assert after < before - 0.02
    # As much as the circuit solved with it due brings less: 12 kPa at 200 L/h, of some 15 that the pump lifts.
    said = found.why.say("metric")
    came, less, drawn, over = (float(x) for x in re.findall(r"([\d.]+) L/h", said)[:4])
    assert "with the filters before it due" in said
    assert came - less - drawn == pytest.approx(over if after > 0 else -over, abs=2)
    assert after == pytest.approx((came - less) / drawn - 1, abs=0.02)


def test_where_the_filters_due_leave_no_answer_it_does_not_pass(tmp_path):
    # A million times the drop of the clean filter: more than a vacuum draws through it.
    found = judged(tmp_path, 1.2, due="1000000")
    assert found.verdict is Verdict.UNCHECKED
    assert "with the filters due circuit line has no answer" in found.why.say("metric")
    assert found.needs == "what fuel.margin/line asks for"


def test_without_an_overflow_its_air_has_no_way_out(tmp_path):
    found = judged(tmp_path, 1.5, overflow=False)
    assert found.verdict is Verdict.FAIL
    assert "no overflow" in found.why.say("metric")


def test_the_pressure_in_a_full_one_is_what_its_overflow_takes(tmp_path):
    # A longer overflow takes more of it, by friction as its length.
    def pressure(length):
        plan = surge_plan(tmp_path, 1.5, over={"length": length, "length_is": "overall"})
        (found,) = fills(study(plan))
        return found.verdict, float(re.search(r"(?:under|comes to) (-?[\d.]+) kPa", found.why.say("metric"))[1])

    near, far = pressure("1 m"), pressure("10 m")
    assert near[0] is Verdict.PASS
    # It is judged by that pressure, whatever runs over.
    assert far[0] is not Verdict.PASS
    assert far[1] > near[1] + 5


def test_it_lasts_by_what_stands_over_the_mouth_in_the_worst_attitude(tmp_path):
    # A box of 100 x 100 mm, full to 950 mm, drawn from at 800 mm in its middle: 1.5 L on level ground.
    box = {"corner": "-1750, -50, 700 mm", "opposite": "-1650, 50, 1050 mm", "volume": "9 L"}
    ports = {"out": {"at": "-1700, 0, 700 mm", "reaches": "-1700, 0, 800 mm"}}

    def lasts(attitudes):
        plan = surge_plan(tmp_path, 1.5, surge=box, ports=ports, attitudes=attitudes)
        (found,) = fills(study(plan))
        return float(re.search(r"lasts ([\d.]+) s", found.why.say("metric"))[1])

    level = lasts({})
    assert level == pytest.approx(1.5 / 140 * 3600, rel=0.02)
    # At a corner of the box it is bare sooner: on a slope of 60 % by 30 mm at its wall.
    ports["out"] = {"at": "-1700, 0, 700 mm", "reaches": "-1650, 0, 800 mm"}
    climb = lasts({"climb": {"nose_up": "60 %"}})
    assert climb == pytest.approx((1.5 - 0.3) / 140 * 3600, rel=0.03)


def test_an_overflow_that_is_too_narrow_raises_the_pressure_and_lessens_what_comes(tmp_path):
    def said(stock, length="1 m"):
        plan = surge_plan(tmp_path, 1.5, over={"length": length, "length_is": "overall"}, overflow_in=stock)
        (found,) = fills(study(plan))
        return found

    short, long = said("ptfe-braid -5"), said("ptfe-braid -5", "10 m")
    assert (said("hose").verdict, short.verdict, long.verdict) == (Verdict.PASS, Verdict.CAUTION, Verdict.FAIL)
    assert "A wider or shorter F7" in long.change.say("metric")
    came = [float(re.search(r"At idle ([\d.]+) L/h come into", f.why.say("metric"))[1]) for f in (short, long)]
    assert came[1] < came[0]
    # One that takes next to nothing leaves no answer, and no pass.
    assert said("ptfe-braid -3").verdict is not Verdict.PASS


@pytest.mark.parametrize(("lasts", "verdict"), [("5 s", Verdict.CAUTION), ("200 s", Verdict.FAIL)])
def test_a_pass_that_it_outlasts_only_cautions(tmp_path, lasts, verdict):
    found = judged(tmp_path, 0.2, surge=TALL, full_lasts=lasts)
    assert found.verdict is verdict
    assert ("outlasts full, of 5.0 s" in found.why.say("metric")) is (verdict is Verdict.CAUTION)


# ---------------------------------------------------------------- its air

TALL = {"corner": "-1750, -50, 690 mm", "opposite": "-1650, 50, 1010 mm"}


@pytest.mark.parametrize(("top", "verdict"), [(1010, Verdict.PASS), (1040, Verdict.CAUTION)])
def test_air_stays_over_an_overflow_that_is_not_at_the_top(tmp_path, top, verdict):
    # The overflow leaves 1,000 mm high.
    box = TALL | {"opposite": f"-1650, 50, {top} mm"}
    (found,) = gets_out(study(surge_plan(tmp_path, 1.5, surge=box)))
    assert found.verdict is verdict
    assert found.value.value == pytest.approx((top - 1000) * 1e-3)


def test_a_tube_inside_brings_the_overflow_to_the_top(tmp_path):
    box = TALL | {"opposite": "-1650, 50, 1040 mm"}
    ports = {"over": {"at": "-1700, 0, 800 mm", "reaches": "-1700, 0, 1035 mm"}}
    (found,) = gets_out(study(surge_plan(tmp_path, 1.5, surge=box, ports=ports)))
    assert found.verdict is Verdict.PASS


def test_without_its_box_its_top_is_asked_for(tmp_path):
    (found,) = gets_out(study(surge_plan(tmp_path, 1.5)))
    assert found.verdict is Verdict.UNCHECKED
    assert "corner and opposite of the box in [components.surge]" in found.needs
    assert gets_out(study(surge_plan(tmp_path, 1.5, overflow=False))) == []


def test_what_only_a_clean_filter_brings_does_not_keep_it_full(tmp_path):
    # Just enough comes with the filter clean, and just not with it due: then it stands low, under the open air,
    # and the overflow, full, does not lower its pressure.
    over = {"length": "10 m", "length_is": "overall"}
    clean, due = (judged(tmp_path, 0.52, due=due, over=over, overflow_in="ptfe-braid -5") for due in ("1", "60"))
    full = [{c.state.duty: c.value.value for c in found.cases}["full"] for found in (clean, due)]
    assert full[0] > 0.03
    assert full[1] < 0
    assert clean.verdict is not Verdict.FAIL
    assert (due.verdict, due.worst.duty) == (Verdict.FAIL, "full")
