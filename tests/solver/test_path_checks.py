"""What the checks say of a run in space: bends, ends, clock angle, clearance, from situations worked by hand."""

import math

import pytest
from writing import read, run

from lines.cures import other_ends, other_stocks
from lines.finding import Verdict
from lines.supports import clamps
from solver.checks import findings
from solver.study import study

IN = 0.0254


def plan_of(folder, a, b, stock="ptfe-braid -6", liquid="10w-40", zones=None, **facts):
    return read(
        folder,
        circuits={"line": {"fluid": liquid, "temperature": "60 C"}},
        components={
            "a": {"kind": "source", "pressure": "1 bar", "ports": {"out": a}},
            "b": {"kind": "open", "ports": {"in": b}},
        },
        **({"zones": zones} if zones else {}),
        runs={"H1": run("a.out", "b.in", stock, **facts)},
    )


def found_in(plan):
    return {f.id.replace("/H1", ""): f for f in findings(study(plan))}


# ---------------------------------------------------------------- clearance

# A rubber hose past a header: 20 mm that the exhaust grows when hot and 10 mm that it shakes (a vehicle engineer),
# 15 mm that the engine rolls (a club's guide). At 75 mm 30 mm are left: over the 25 mm of a US Army manual, but under
# the 3 in of a magazine, and lines have burned at 3 in. At 60 mm 15 mm are left.
HEADER = {"form": "cylinder", "nature": "hot", "radius": "20 mm", "growth": "20 mm", "shake": "10 mm", "roll": "15 mm"}


def past(folder, gap, nature="hot", stock="rubber-braid -6", **facts):
    outside = {"rubber-braid -6": 0.67 * 25.4, "tube-steel -3": 3 / 16 * 25.4}[stock]
    y = 20 + gap + outside / 2
    zone = HEADER | {"nature": nature, "from": f"300, {y!r}, 0 mm", "to": f"700, {y!r}, 0 mm"} | facts
    a, b = {"at": "0, 0, 0 mm", "points": "forward"}, {"at": "1000, 0, 0 mm", "points": "back"}
    return found_in(plan_of(folder, a, b, stock, zones={"header": zone}, via=[]))["run.clearance"]


@pytest.mark.parametrize(
    ("gap", "left", "verdict"), [(60, 15, Verdict.FAIL), (75, 30, Verdict.CAUTION), (125, 80, Verdict.PASS)]
)
def test_a_hose_beside_a_header(tmp_path, gap, left, verdict):
    found = past(tmp_path, gap)
    assert found.verdict is verdict
    assert found.value.value * 1e3 == pytest.approx(left, abs=0.01)
    assert found.worst.station == "header"
    if verdict is not Verdict.PASS:
        assert "shield" in found.change.say("metric")
        assert "hard line" in found.change.say("metric")


def test_of_a_tube_nobody_asks_that_it_be_hard_line(tmp_path):
    assert "hard line" not in past(tmp_path, 60, stock="tube-steel -3").change.say("metric")


# 19 mm from anything moving (a service manual), 25 mm (a US Army manual); a body that stands still may be touched.
@pytest.mark.parametrize(
    ("nature", "gap", "verdict"),
    [
        ("moving", 63, Verdict.FAIL),
        ("moving", 67, Verdict.CAUTION),
        ("moving", 71, Verdict.PASS),
        ("still", 46, Verdict.PASS),
        ("still", 44, Verdict.FAIL),
    ],
)
def test_each_nature_has_its_gap(tmp_path, nature, gap, verdict):
    assert past(tmp_path, gap, nature).verdict is verdict


def test_a_plan_may_say_the_gap_itself(tmp_path):
    assert past(tmp_path, 75, keep="29 mm").verdict is Verdict.PASS
    assert past(tmp_path, 75, keep="31 mm").verdict is Verdict.FAIL


def test_a_run_apart_from_a_zone_is_not_held_against_it(tmp_path):
    zones = {
        "thing": {"form": "sphere", "nature": "hot", "centre": "0, 0, 0 mm", "radius": "1 m", "apart_from": ["H1"]}
    }
    a, b = {"at": "0, 0, 0 mm", "points": "forward"}, {"at": "1000, 0, 0 mm", "points": "back"}
    assert "run.clearance" not in found_in(plan_of(tmp_path, a, b, zones=zones, via=[]))
    unknown = plan_of(tmp_path, {}, {}, zones={"thing": zones["thing"] | {"apart_from": []}}, length="1 m",
                      length_is="cut", rise="0 m")  # fmt: skip
    assert found_in(unknown)["run.clearance"].verdict is Verdict.UNCHECKED


def test_the_nearest_place_is_found_on_a_bend(tmp_path):
    # A ball in the corner of a quarter turn: the arc of radius r passes the corner at r (sqrt 2 - 1).
    zones = {"ball": {"form": "sphere", "nature": "still", "centre": "20, 0, 0 in", "radius": "0.5 in"}}
    a, b = {"at": "0, 0, 0 in", "points": "forward"}, {"at": "20, 20, 0 in", "points": "right"}
    found = found_in(plan_of(tmp_path, a, b, zones=zones, via=["20, 0, 0 in"]))["run.clearance"]
    outside = 11.0 / 25.4
    radius = 4 + outside / 2
    assert found.value.value / IN == pytest.approx(radius * (math.sqrt(2) - 1) - 0.5 - outside / 2, abs=0.01)


# ---------------------------------------------------------------- clock angle


def cranked(folder, **facts):
    """A hose forward between two 90 deg ends: out of a port that points up into one that points right."""
    a, b = {"at": "0, 0, 0 in", "points": "up"}, {"at": "30, -1.3, 1.3 in", "points": "left"}
    return found_in(plan_of(folder, a, b, via=["10, 0, 1.3 in", "20, 0, 1.3 in"], ends=["90 deg", "90 deg"], **facts))


def test_the_clock_angle_of_a_hose_between_two_elbows(tmp_path):
    # Seen from its start, looking forward: the near outlet points down into its port, 6 o'clock; the far one points
    # right into its port, which looks left: 3 o'clock, a quarter turn counter-clockwise.
    found = cranked(tmp_path)["run.clock"]
    assert found.verdict is Verdict.PASS
    assert math.degrees(found.value.value) == pytest.approx(90, abs=3)


@pytest.mark.parametrize(
    ("clock", "verdict"),
    [("90 deg", Verdict.PASS), ("80 deg", Verdict.CAUTION), ("135 deg", Verdict.FAIL), ("270 deg", Verdict.FAIL)],
)
def test_a_measured_clock_angle_is_held_against_its_points(tmp_path, clock, verdict):
    found = cranked(tmp_path, clock=clock)["run.clock"]
    assert found.verdict is verdict
    assert ("clockwise" in found.why.say("us")) == (clock == "270 deg")


def test_a_clock_angle_that_nobody_knows_is_asked_for(tmp_path):
    plan = plan_of(tmp_path, {}, {}, length="20 in", length_is="seat-to-seat", rise="0 in", ends=["90 deg", "45 deg"])
    found = found_in(plan)["run.clock"]
    assert found.verdict is Verdict.UNCHECKED
    assert "finger tight" in found.needs
    straight = plan_of(tmp_path, {}, {}, length="20 in", length_is="cut", rise="0 in", ends=["90 deg", "straight"])
    assert "run.clock" not in found_in(straight)


# ---------------------------------------------------------------- what does not fit, and what would cure it


def test_too_near_for_its_ends_it_names_what_lacks_and_the_ends_that_fit(tmp_path):
    # Straight ends were asked for, 2 1/2 in to the corner: no room for collar, straight and bend; elbows have it.
    a, b = {"at": "0, 0, 0 in", "points": "up"}, {"at": "16, 0, 0 in", "points": "up"}
    plan = plan_of(tmp_path, a, b, via=["0, 0, 2.5 in", "16, 0, 2.5 in"], ends=["straight", "straight"])
    found = found_in(plan)["run.radius"]
    assert found.verdict is Verdict.FAIL
    assert "too short" in found.why.say("us")
    assert "more between end A and bend 1" in found.change.say("us")
    ends = other_ends(plan, "H1")
    assert all(end.angle > 0 for end in ends)
    assert ends[0].id in found.change.say("us")


def test_too_near_for_its_hose_it_names_a_hose_that_bends_tighter(tmp_path):
    # Two spigots 9 in apart round a corner: a stiffer hose has no room for its bend where a softer one has.
    a = {"at": "0, 0, 0 in", "points": "forward", "thread": "barb 3/8"}
    b = {"at": "5.2, 5.2, 0 in", "points": "right", "thread": "barb 3/8"}
    plan = plan_of(tmp_path, a, b, "push-on -6", liquid="glycol-50", via=["5.2, 0, 0 in"])
    least = plan.catalog.stock("push-on -6").bend_radius / IN
    found = found_in(plan)["run.radius"]
    named = other_stocks(plan, "H1")
    for stock in named:
        assert stock.bend_radius / IN < least
        assert stock.working_pressure >= plan.catalog.stock("push-on -6").working_pressure
        assert stock.id in found.change.say("us")
    if not named:
        assert found.verdict is Verdict.PASS or "turn a port" in found.change.say("us")


def test_a_radius_tighter_than_the_hose_allows_is_refused(tmp_path):
    a, b = {"at": "0, 0, 0 in", "points": "forward"}, {"at": "20, 20, 0 in", "points": "right"}
    found = found_in(plan_of(tmp_path, a, b, via=["20, 0, 0 in"], radius="3 in"))["run.radius"]
    assert found.verdict is Verdict.FAIL
    assert "4 in" in found.change.say("us")
    wide = found_in(plan_of(tmp_path, a, b, via=["20, 0, 0 in"], radius="9 in"))["run.radius"]
    assert wide.verdict is Verdict.PASS


def test_a_tape_that_is_shorter_than_any_way_through_the_points_is_doubted(tmp_path):
    a, b = {"at": "0, 0, 0 in", "points": "forward"}, {"at": "20, 20, 0 in", "points": "right"}
    facts = {"via": ["20, 0, 0 in"], "length_is": "seat-to-seat"}
    # Shortest: the widest bend that fits. Straight distance 28.3 in, so 29 in is no contradiction, but it is no way.
    assert found_in(plan_of(tmp_path, a, b, length="29 in", **facts))["run.length"].verdict is Verdict.CAUTION
    assert found_in(plan_of(tmp_path, a, b, length="38 in", **facts))["run.length"].verdict is Verdict.PASS


# ---------------------------------------------------------------- pressure that is known from elsewhere


@pytest.mark.parametrize(
    ("said", "verdict"),
    [
        ({"highest": "200 psi"}, Verdict.PASS),
        ({"highest": "900 psi"}, Verdict.CAUTION),  # the hose stands it, and what its ends stand is in no table
        ({"highest": "3000 psi"}, Verdict.FAIL),
        ({}, Verdict.UNCHECKED),
    ],
)
def test_a_highest_pressure_from_elsewhere_is_held_against_the_rating(tmp_path, said, verdict):
    plan = read(
        tmp_path,
        circuits={"line": {"fluid": "dot-4", "temperature": "60 C"} | said},
        components={"m": {"kind": "master-cylinder"}, "c": {"kind": "caliper"}},
        runs={"H1": run("m.out", "c.in", "brake-hose-low -2", length="14 in", length_is="overall", rise="0 in")},
    )
    found = found_in(plan)
    assert found["run.pressure"].verdict is verdict
    assert "not" in found["circuit.flow/line"].why.say("us").lower() or "No flows" in found[
        "circuit.flow/line"
    ].why.say("us")


# ---------------------------------------------------------------- what looks right and cannot be made

SHOP = """id,cutoff,drop,overhang,insertion,source,grade
,mm,mm,mm,mm,,
ptfe-braid -6 straight,20.6,,6,19,for the test,measured
ptfe-braid -6 90 deg,24.9,23.1,0,19,for the test,measured
ptfe-braid -6 180 deg,3.5,38.2,0,19,for the test,measured
"""
ADAPTER = "id,length,source,grade\n,mm,,\norb -6 to flare37 -6,30,for the test,measured\n"


def measured(folder, a, b, **facts):
    """Assembly and findings of a run whose ends and adapter the shop has measured [mm]."""
    (folder / "shop").mkdir(exist_ok=True)
    (folder / "shop" / "ends.csv").write_text(SHOP, encoding="utf-8")
    (folder / "shop" / "adapters.csv").write_text(ADAPTER, encoding="utf-8")
    plan = read(
        folder,
        plan={"shop": "shop"},
        circuits={"line": {"fluid": "10w-40", "temperature": "60 C"}},
        components={
            "a": {"kind": "source", "pressure": "1 bar", "ports": {"out": a}},
            "b": {"kind": "open", "ports": {"in": b}},
        },
        **({"zones": facts.pop("zones")} if "zones" in facts else {}),
        runs={"H1": run("a.out", "b.in", "ptfe-braid -6", **facts)},
    )
    made = study(plan)
    return made.assemblies["H1"], {f.id.replace("/H1", ""): f for f in findings(made)}


def port(x, y, z, points=None, thread="flare37 -6"):
    return {"at": f"{x}, {y}, {z} mm", "thread": thread} | ({"points": points} if points else {})


STRAIGHT = ["straight", "straight"]


@pytest.mark.parametrize("apart", [30, 60, 79])
def test_two_collars_that_overlap_fail(tmp_path, apart):
    # Each end takes 20.6 mm and holds 19 mm of hose: 79.2 mm are gone before any hose is free.
    made, found = measured(tmp_path, port(0, 0, 0, "forward"), port(apart, 0, 0, "back"), via=[], ends=STRAIGHT)
    assert made.overlaps
    for rule in ("run.length", "run.radius", "run.free"):
        assert found[rule].verdict is Verdict.FAIL
    assert "run.slack" not in found


def test_a_measured_bend_is_judged_by_the_hose_however_the_run_is_known(tmp_path):
    a, b = port(0, 0, 0, "forward"), port(300, 300, 0, "right")
    bends = [{"turn": "90 deg", "inside_radius": "20 mm"}]
    _, found = measured(tmp_path, a, b, via=["300, 0, 0 mm"], bends=bends)
    assert found["run.radius"].verdict is Verdict.FAIL
    # Measured wider than the points leave room for, and wider than the hose asks: the two do not agree, no more.
    wide = [{"turn": "90 deg", "inside_radius": "300 mm"}]
    _, found = measured(tmp_path, a, b, via=["300, 0, 0 mm"], bends=wide)
    assert found["run.radius"].verdict is Verdict.CAUTION


def test_an_adapter_on_a_port_that_points_nowhere_keeps_the_length_open(tmp_path):
    b = port(500, 0, 0, "back")
    made, _ = measured(tmp_path, port(0, 0, 0, thread="orb -6"), b, via=[], ends=STRAIGHT)
    assert made.unaimed == ("A",)
    assert made.provisional
    made, _ = measured(tmp_path, port(0, 0, 0, "forward", "orb -6"), b, via=[], ends=STRAIGHT)
    assert made.cut == pytest.approx(0.4288)
    assert not made.provisional


def test_an_elbow_on_a_port_that_points_nowhere_keeps_the_length_open(tmp_path):
    made, found = measured(tmp_path, port(0, 0, 0), port(500, 0, 0, "back"), via=[], ends=["90 deg", "straight"])
    assert made.provisional
    assert found["run.ends.from"].verdict is Verdict.UNCHECKED
    assert found["run.length"].verdict is Verdict.CAUTION
    assert "points" in found["run.length"].why.say("metric")


def test_a_tape_between_adapters_or_elbows_may_be_shorter_than_between_the_ports(tmp_path):
    # 500 mm between two faces, 30 mm of adapter on each: 440 mm from seat to seat.
    ends = port(0, 0, 0, "forward", "orb -6"), port(500, 0, 0, "back", "orb -6")
    made, _ = measured(tmp_path, *ends, length="440 mm", length_is="seat-to-seat", ends=STRAIGHT)
    assert made.cut == pytest.approx(0.440 - 2 * 0.0206)
    # Up and down into two elbows: 200 mm along the hose, the seats 23.1 mm aside of it on both sides.
    ends = port(0, 0, 0, "up"), port(200, 0, 46.2, "down")
    made, _ = measured(tmp_path, *ends, length="200 mm", length_is="seat-to-seat", ends=["90 deg", "90 deg"])
    assert made.cut == pytest.approx(0.200 - 2 * 0.0249)


def test_slack_by_tape_is_reckoned_from_where_the_collars_stand(tmp_path):
    # Both ports up, 400 mm apart: the mouths stand 400 mm apart too, and 350.8 mm of hose is free.
    ends = port(0, 0, 0, "up"), port(400, 0, 0, "up")
    _, found = measured(tmp_path, *ends, length="430 mm", length_is="seat-to-seat", ends=STRAIGHT)
    assert found["run.slack"].verdict is Verdict.FAIL
    assert found["run.slack"].value.value == pytest.approx(0.3508 / 0.4 - 1, abs=1e-4)
    # Which way they point is not known: enough hose if they look at each other, too little if they look up.
    _, found = measured(tmp_path, port(0, 0, 0), port(400, 0, 0), length="430 mm", length_is="seat-to-seat",
                        ends=STRAIGHT)  # fmt: skip
    assert found["run.slack"].verdict is Verdict.UNCHECKED
    assert "point" in found["run.slack"].needs


def test_a_point_aside_of_the_end_is_not_dropped(tmp_path):
    # 40 mm aside of a straight end, 60 mm out: the hose would have to come back to it.
    ends = port(0, 0, 0, "forward"), port(600, 0, 0, "back")
    made, found = measured(tmp_path, *ends, via=["60, 40, 0 mm", "540, 40, 0 mm"], ends=STRAIGHT)
    assert made.cut is None
    assert found["run.length"].verdict is Verdict.UNCHECKED
    assert found["run.radius"].verdict is Verdict.FAIL
    assert "farther out" in found["run.radius"].change.say("metric")


def test_clearance_counts_the_metal_of_an_end(tmp_path):
    # An elbow out of a port that points up, under a hot ball: its knee stands 23.1 mm over the port.
    zones = {"ball": {"form": "sphere", "nature": "hot", "centre": "0, 0, 60 mm", "radius": "20 mm"}}
    ends = port(0, 0, 0, "up"), port(600, 0, 23.1, "back")
    _, found = measured(tmp_path, *ends, via=[], ends=["90 deg", "straight"], zones=zones)
    half_nut = 11 / 16 * 25.4 / 2
    assert found["run.clearance"].value.value * 1e3 == pytest.approx(60 - 23.1 - 20 - half_nut, abs=0.1)
    assert found["run.clearance"].verdict is Verdict.FAIL


def test_half_turns_have_a_clock_angle_too(tmp_path):
    # Two ports up, the hose hung between two half turns: both seats on the same side of it.
    ends = port(0, 0, 0, "up"), port(500, 0, 0, "up")
    made, found = measured(tmp_path, *ends, via=[], ends=["180 deg", "180 deg"])
    assert math.cos(made.clock) == pytest.approx(1.0)
    assert found["run.clock"].verdict is Verdict.PASS


def test_the_clock_angle_is_held_to_the_tolerance_of_its_length(tmp_path):
    # MIL-DTL-83796/5: 3 deg to 24 in, 5 deg above. Four degrees off.
    for inches, verdict in ((20, Verdict.CAUTION), (40, Verdict.PASS)):
        a, b = {"at": "0, 0, 0 in", "points": "up"}, {"at": f"{inches}, 0, 0 in", "points": "up"}
        via = [f"{inches / 3:.3f}, 0, 1 in", f"{inches * 2 / 3:.3f}, 0, 1 in"]
        plan = plan_of(tmp_path, a, b, via=via, ends=["90 deg", "90 deg"])
        found = study(plan).assemblies["H1"].clock
        clock = f"{(math.degrees(found) + 4) % 360:.3f} deg"
        plan = plan_of(tmp_path, a, b, via=via, ends=["90 deg", "90 deg"], clock=clock)
        assert found_in(plan)["run.clock"].verdict is verdict
    # By two ports alone the elbows are only taken to look at each other: what was measured stands.
    plan = plan_of(tmp_path, a, b, via=[], ends=["90 deg", "90 deg"], clock="40 deg")
    assert found_in(plan)["run.clock"].verdict is Verdict.PASS


def test_the_nut_of_an_elbow_adds_nothing_to_an_overall_length(tmp_path):
    # 6 mm of nut over the seat of the straight end alone.
    made, _ = measured(tmp_path, port(0, 0, 0), port(300, 0, 0), length="400 mm", length_is="overall",
                       ends=["90 deg", "straight"])  # fmt: skip
    assert made.length == pytest.approx(0.394)
    assert made.cut == pytest.approx(0.394 - 0.0249 - 0.0206)


def test_a_drop_from_the_tables_keeps_a_measured_cut_off_provisional(tmp_path):
    (tmp_path / "shop").mkdir()
    rows = "\n".join(line.replace("24.9,23.1,0,19", "24.9,,0,19") for line in SHOP.splitlines())
    (tmp_path / "shop" / "ends.csv").write_text(rows + "\n", encoding="utf-8")
    plan = read(
        tmp_path,
        plan={"shop": "shop"},
        circuits={"line": {"fluid": "10w-40", "temperature": "60 C"}},
        components={
            "a": {"kind": "open", "ports": {"in": port(0, 0, 0, "up")}},
            "b": {"kind": "open", "ports": {"in": port(600, 0, 23.1, "back")}},
        },
        runs={"H1": run("a.in", "b.in", "ptfe-braid -6", via=[], ends=["90 deg", "straight"])},
    )
    assert study(plan).assemblies["H1"].provisional


def test_a_highest_pressure_below_the_plans_own_figures_is_told(tmp_path):
    # A source of 1 bar, still: 100 kPa in the hose.
    plan = read(
        tmp_path,
        circuits={"line": {"fluid": "10w-40", "temperature": "60 C", "highest": "50 kPa"}},
        components={"a": {"kind": "source", "pressure": "100 kPa"}, "b": {"kind": "gauge"}},
        runs={"H1": run("a.out", "b.in", "ptfe-braid -6", length="1 m", length_is="cut", rise="0 m")},
    )
    found = found_in(plan)["run.pressure"]
    assert found.verdict is Verdict.CAUTION
    assert "100 kPa" in found.why.say("metric")


# ---------------------------------------------------------------- wires as they are measured


@pytest.mark.parametrize(("off", "every"), [(10, 100), (15, 100), (20, 150), (15, 150), (25, 250)])
def test_a_straight_wire_a_little_off_its_port_gets_a_straight_end_and_one_bend(tmp_path, off, every):
    # Found by hand: the hose leaves its collar, bends once toward the wire, and passes its first points closely.
    t = math.radians(off)
    stops = [(every * n * math.cos(t), every * n * math.sin(t)) for n in range(1, math.ceil(900 / every))]
    far = (900 * math.cos(t), 900 * math.sin(t))
    ends = port(0, 0, 0, "forward"), port(f"{far[0]:.3f}", f"{far[1]:.3f}", 0, f"{-far[0]:.3f}, {-far[1]:.3f}, 0")
    made, found = measured(tmp_path, *ends, via=[f"{x:.3f}, {y:.3f}, 0 mm" for x, y in stops], ends=STRAIGHT)
    assert found["run.radius"].verdict is Verdict.PASS
    assert made.route.line.turns.sum() < t + math.radians(20)
    assert made.length == pytest.approx(0.900, rel=0.015)


@pytest.mark.parametrize(("height", "told"), [(25, False), (40, False), (60, True), (80, True), (95, True)])
def test_a_wires_corner_a_little_over_a_port_is_an_elbow(tmp_path, height, told):
    # The elbow's own corner stands 23 mm over the port; the line then lies under the wire by the rest.
    ends = port(0, 0, 0, "up"), port(600, 0, height, "back")
    made, found = measured(tmp_path, *ends, via=[f"0, 0, {height} mm"])
    assert [round(math.degrees(end.angle)) for end in made.chosen] == [90, 0]
    assert found["run.radius"].verdict is Verdict.PASS
    assert found["run.ends.from"].verdict is (Verdict.CAUTION if told else Verdict.PASS)


def test_two_elbows_that_look_at_each_other_have_no_clock_angle_of_their_own(tmp_path):
    # Whatever way the line runs in the vehicle, nothing says which way the two elbows are turned.
    for way in ((1.0, 0.0, 0.0), (0.0, 0.0, 1.0), (600.0, 0.0, 450.0), (3.0, 4.0, 0.0)):
        size = math.dist((0, 0, 0), way)
        far = [round(10 + 750 * w / size, 6) for w in way]
        text = ", ".join(str(w) for w in way)
        back = ", ".join(str(-w) for w in way)
        ends = port(10, 10, 10, text), port(*far, back)
        made, found = measured(tmp_path, *ends, via=[], ends=["90 deg", "90 deg"])
        assert made.clock is None
        assert found["run.clock"].verdict is Verdict.UNCHECKED
        # Square out of both ports, half a turn between: the same hose in every direction.
        assert made.route.line.turns.sum() == pytest.approx(math.pi, abs=1e-3)


def test_points_out_of_their_order_are_told(tmp_path):
    ends = port(0, 0, 0, "forward"), port(3000, 0, 300, "down")
    via = ["1000, 0, 0 mm", "2600, 100, 0 mm", "1200, 100, 0 mm", "3000, 0, 100 mm"]
    made, found = measured(tmp_path, *ends, via=via)
    assert found["run.radius"].verdict is Verdict.FAIL
    assert "order" in found["run.radius"].why.say("metric")
    assert made.cut is None


def test_an_elbow_past_a_right_angle_is_no_taller_than_its_metal(tmp_path):
    # A lid 60 mm over the port. 150 deg: the axes of port and hose meet far over it, the elbow does not come near.
    zones = {"lid": {"form": "box", "nature": "still", "corner": "-200, -200, 60 mm", "opposite": "200, 200, 70 mm"}}
    ends = port(0, 0, 0, "up"), port(500, 0, -300, "back")
    _, found = measured(tmp_path, *ends, via=[], ends=["150 deg", "straight"], zones=zones)
    assert found["run.clearance"].verdict is Verdict.PASS


def test_a_line_by_points_is_as_long_as_it_is(tmp_path):
    # A deep loop between two near ports: five times the straight distance, and no mistake of feet for inches.
    ends = port(0, 0, 0, "up"), port(250, 0, 0, "up")
    _, found = measured(tmp_path, *ends, via=["0, 0, 500 mm", "250, 0, 500 mm"])
    assert found["run.slack"].verdict is Verdict.PASS


# ---------------------------------------------------------------- ends that move


def steered(folder, **facts):
    """A brake hose from the frame to a hub that drops 7 in and turns 30 deg about its kingpin, and its findings."""
    plan = read(
        folder,
        circuits={"line": {"fluid": "dot-4", "temperature": "60 C"}},
        components={
            "f": {"kind": "master-cylinder", "ports": {"out": {"at": "0, 0, 10 in", "points": "left"}}},
            "c": {"kind": "caliper", "on": "hub", "ports": {"in": {"at": "0, 14, 0 in", "points": "right"}}},
        },
        bodies={
            "hub": {
                "ride": {},
                "droop": {"move": "0, 0, -7 in"},
                "droop and lock": {"move": "0, 0, -7 in", "turn": "30 deg", "about": "up", "through": "0, 20, 0 in"},
                "nobody knows": {"turn": "30 deg"},
            }
        },
        runs={"H1": run("f.out", "c.in", "brake-hose-low -2", length="18 in", length_is="seat-to-seat", rise="-10 in",
                        ends=["brake-hose-low -2 flare37", "brake-hose-low -2 flare37"], **facts)},
    )  # fmt: skip
    return plan, found_in(plan)


def test_a_hose_right_at_ride_and_taut_at_droop_with_lock_fails_by_that_name(tmp_path):
    plan, found = steered(tmp_path)
    slack = found["run.slack"]
    # By hand: the mouth of the far end lies so far inside the kingpin; it swings about it and drops 7 in.
    end = study(plan).assemblies["H1"].chosen[0]
    held = (end.cutoff + end.insertion) / IN
    y, swing = 14 - held, math.radians(30)
    out = y - 20
    mouths = {
        "": (0, y, 0),
        "ride": (0, y, 0),
        "droop": (0, y, -7),
        "droop and lock": (-out * math.sin(swing), 20 + out * math.cos(swing), -7),
    }
    apart = {name: math.dist((0, held, 10), place) for name, place in mouths.items()}
    free = 18 - 2 * held
    assert {c.state.position: c.value.value for c in slack.cases} == pytest.approx(
        {name: free / size - 1 for name, size in apart.items()}, abs=1e-6
    )
    assert slack.verdict is Verdict.FAIL
    assert slack.worst.position == max(apart, key=apart.get)
    assert "too short to reach at" in slack.why.say("us")
    assert found["run.moves"].verdict is Verdict.UNCHECKED


def test_a_hose_that_moves_is_not_clamped_between_its_ends(tmp_path):
    plan, _ = steered(tmp_path)
    assert clamps(plan, study(plan).assemblies["H1"]) == ()
