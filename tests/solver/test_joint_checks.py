"""What the checks say of joints: seats, metals, brakes, seals, room for the spanner. Figures worked by hand."""

import math

import pytest
from writing import read, run, text_of

from catalogs.grades import Grade
from lines.finding import Verdict
from solver.checks import findings
from solver.study import study

INCH = 0.0254
TOLD = {"source": "invented for a test", "grade": "illustrative"}
HOSE = "ptfe-braid -8"


def end_of(thread, **facts):
    """A hose end of the shop that offers this thread."""
    return {
        "fits": HOSE,
        "means": f"end for {thread}",
        "angle": "0 deg",
        "thread": thread,
        "cutoff": "20 mm",
        "bore": "6 mm",
        "attaches": "crimped",
    } | facts


def judged(folder, port, end="flare37 -8", *, liquid="10w-40", celsius=60, seals="", rows=None, **facts):
    """Findings of one hose from a port to an end that fits, by id without the hose's name."""
    shop = {"ends": {"mine": end_of(end, **facts)}} | (rows or {})
    (folder / "shop").mkdir(exist_ok=True)
    for table, own in shop.items():
        text = text_of({table: {key: TOLD | row for key, row in own.items()}})
        (folder / "shop" / f"{table}.toml").write_text(
            text.replace("schema = 1\n", "").replace(f"[{table}.", "["), encoding="utf-8"
        )
    port = {"thread": port} if isinstance(port, str) else port
    plan = read(
        folder,
        plan={"shop": "shop"},
        circuits={"line": {"fluid": liquid, "temperature": f"{celsius} C"} | ({"seals": seals} if seals else {})},
        components={
            "a": {"kind": "source", "pressure": "3 bar", "ports": {"out": port}},
            "b": {"kind": "open", "ports": {"in": {"thread": "flare37 -8"}}},
        },
        runs={"H1": run("a.out", "b.in", HOSE, length="1 m", length_is="cut", rise="0 m", ends=["mine", "straight"])},
    )
    return {f.id.replace("/H1", ""): f for f in findings(study(plan))}


def said(finding):
    return finding.why.say("metric"), finding.change.say("metric")


# ---------------------------------------------------------------- seats and threads


@pytest.mark.parametrize(
    ("port", "end", "why"),
    [
        # The port decides: a raised cone wants a double flare, common practice, no source.
        ("inverted45 3/16", "flare37 -16", "raised cone"),
        # SAE J514 -4 and SAE J512 1/4 in share 7/16-20: 37 deg against 45 deg.
        ("flare37 -4", "flare45 1/4", "a 37 deg cone meets a 45 deg one"),
        # Published lists of brake tube nuts.
        ("bubble M10x1", "inverted45 3/16", "3/8-24 starts in a port M10x1 and strips"),
        # ASME B1.20.1 and ISO 228-1: 60 and 55 deg.
        ("npt 1/4", "bspp 1/4", "60 deg"),
        ("bspp 1/4", "npt 1/4", "55 deg"),
    ],
)
def test_seats_that_do_not_belong_together_fail_with_the_reason(tmp_path, port, end, why):
    found = judged(tmp_path, port, end)["joint.fit.from"]
    assert found.verdict is Verdict.FAIL
    assert why in said(found)[0]
    assert found.change


def test_the_adapter_for_a_raised_cone_is_named(tmp_path):
    found = judged(tmp_path, "inverted45 3/16", "flare37 -3")["joint.fit.from"]
    assert found.verdict is Verdict.PASS
    assert "adapter inverted45 3/16 to flare37 -3" in said(found)[0]


def test_the_end_of_this_stock_that_goes_straight_on_is_named(tmp_path):
    _, change = said(judged(tmp_path, "flare37 -8", "flare45 1/2")["joint.fit.from"])
    assert "straight on" in change
    assert "ptfe-braid -8 straight" in change


def test_the_end_and_adapter_that_would_join_are_named(tmp_path):
    # SAE J1926-1 -8 and SAE J514 -8: the straight-thread adapter.
    _, change = said(judged(tmp_path, "orb -8", "bspp 1/8")["joint.fit.from"])
    assert "adapter orb -8 to flare37 -8" in change


def test_two_adapters_in_a_row_are_named(tmp_path):
    rows = {
        "adapters": {
            "into": {"port": "face-seal -8", "offers": "npt 1", "means": "x", "bore": "10 mm"},
            "on": {"port": "npt 1", "offers": "bspp 1", "means": "x", "bore": "10 mm"},
        }
    }
    _, change = said(judged(tmp_path, "face-seal -8", "bspp 1", rows=rows)["joint.fit.from"])
    assert change == "Two adapters join them through npt 1: into and on."


def test_where_nothing_joins_the_ports_own_seat_is_named(tmp_path):
    _, change = said(judged(tmp_path, "face-seal -8", "bspp 1")["joint.fit.from"])
    assert "face-seal -8" in change
    assert "13/16-16 UN" in change
    assert "shop's folder" in change


def test_a_bubble_port_warns_of_the_two_nuts(tmp_path):
    # Published lists of brake tube nuts: they do not exchange.
    found = judged(tmp_path, "bubble M10x1", "bubble M10x1")["joint.fit.from"]
    assert found.verdict is Verdict.PASS
    assert "Mind:" in said(found)[0]
    assert "unthreaded lead" in said(found)[0]


def test_a_reducer_asks_whether_the_dash_is_right(tmp_path):
    # A -8 hose on a -6 port: the bore of a -6 flare by MS33656, from memory, is 0.297 in, 7.54 mm.
    found = judged(tmp_path, "flare37 -6")["joint.fit.from"]
    assert found.verdict is Verdict.CAUTION
    why, change = said(found)
    assert "flare37 -6 to flare37 -8" in why or "flare37 -8 to flare37 -6" in why
    assert "7.54 mm" in why
    assert change == "ptfe-braid -8 on a port flare37 -6: is the dash right? ptfe-braid -6 needs no reducer."
    # Two seats are joined by an adapter in any case.
    assert judged(tmp_path, "orb -6")["joint.fit.from"].verdict is Verdict.PASS


def test_a_nut_that_starts_without_its_adapter_is_told(tmp_path):
    # SAE J514 -4 and SAE J512 1/4 in share 7/16-20.
    found = judged(tmp_path, "flare45 1/4", "flare37 -4")["joint.fit.from"]
    assert found.verdict is Verdict.CAUTION
    assert "adapter flare45 1/4 to flare37 -4" in said(found)[0]
    assert "starts without it: a 37 deg cone meets a 45 deg one" in said(found)[0]
    # 3/8 in of SAE J512 is 5/8-18 and not 9/16-18, from memory: that nut does not start.
    assert judged(tmp_path, "flare45 3/8", "flare37 -6")["joint.fit.from"].verdict is Verdict.PASS


@pytest.mark.parametrize(("attaches", "verdict"), [("push-on", Verdict.CAUTION), ("clamped", Verdict.PASS)])
@pytest.mark.parametrize("port", ["barb 1/2", "orb -8"])
def test_push_on_hose_wants_its_own_barb(tmp_path, port, attaches, verdict):
    # A bead wants hose and clamp: common practice, no source. A port says only that it is a spigot.
    found = judged(tmp_path, port, "barb 1/2", attaches=attaches)["joint.fit.from"]
    assert found.verdict is verdict
    assert ("the barb that is made for it" in said(found)[0]) == (attaches == "push-on")


def open_angle(folder, port, stock=HOSE):
    """What is said of an end whose angle nobody knows, on this port."""
    plan = read(
        folder,
        circuits={"line": {"fluid": "10w-40", "temperature": "60 C"}},
        components={
            "a": {"kind": "source", "pressure": "3 bar", "ports": {"out": {"thread": port}}},
            "b": {"kind": "open"},
        },
        runs={"H1": run("a.out", "b.in", stock, length="1 m", length_is="cut", rise="0 m")},
    )
    return {f.id: f for f in findings(study(plan))}["joint.fit/H1.from"]


@pytest.mark.parametrize("port", ["inverted45 3/16", "flare37 -16", "face-seal -4"])
def test_where_no_end_of_the_hose_fits_the_angle_does_not_matter(tmp_path, port):
    # SAE J514 and SAE J1453: every angle of a -8 hose end has one seat.
    found = open_angle(tmp_path, port)
    assert found.verdict is Verdict.FAIL
    assert "straight or angled" in said(found)[0]
    assert found.change


@pytest.mark.parametrize("port", ["flare37 -8", "orb -8"])
def test_where_some_end_fits_its_angle_is_asked(tmp_path, port):
    assert open_angle(tmp_path, port).verdict is Verdict.UNCHECKED


# ---------------------------------------------------------------- metals


@pytest.mark.parametrize(
    ("port", "bung", "part", "verdict", "says"),
    [
        # A taper splits or galls a soft bung: common practice, no source.
        ("npt 1/4", "aluminium", "aluminium", Verdict.CAUTION, "splits or galls"),
        ("npt 1/4", "aluminium", "", Verdict.CAUTION, "splits or galls"),
        ("npt 1/4", "steel", "steel", Verdict.PASS, "nothing against"),
        # Plated steel against an aluminium bung, stainless near road salt: common practice, no source.
        ("flare37 -8", "aluminium", "steel", Verdict.CAUTION, "Anti-seize"),
        ("flare37 -8", "aluminium", "stainless", Verdict.CAUTION, "salt"),
        ("flare37 -8", "steel", "aluminium", Verdict.CAUTION, "keep it dry"),
        ("flare37 -8", "aluminium", "aluminium", Verdict.PASS, "nothing against"),
    ],
)
def test_metals_that_meet_in_a_joint(tmp_path, port, bung, part, verdict, says):
    made_of = {"made_of": part} if part else {}
    found = judged(tmp_path, {"thread": port, "made_of": bung}, port, **made_of)["joint.metal.from"]
    assert found.verdict is verdict
    assert says in " ".join(said(found)[:2])
    assert bool(found.change) == (verdict is Verdict.CAUTION)


def test_the_adapter_is_what_meets_the_port(tmp_path):
    own = {"port": "face-seal -8", "offers": "flare37 -8", "means": "x", "bore": "9 mm", "made_of": "steel"}
    rows = {"adapters": {"own": own}}
    port = {"thread": "face-seal -8", "made_of": "aluminium"}
    found = judged(tmp_path, port, made_of="aluminium", rows=rows)["joint.metal.from"]
    assert found.verdict is Verdict.CAUTION
    assert "own steel" in said(found)[0]


@pytest.mark.parametrize(("bung", "part"), [("", "steel"), ("steel", ""), ("", "")])
def test_a_metal_that_is_not_known_is_not_judged(tmp_path, bung, part):
    port = {"thread": "flare37 -8"} | ({"made_of": bung} if bung else {})
    assert "joint.metal.from" not in judged(tmp_path, port, **({"made_of": part} if part else {}))


@pytest.mark.parametrize(
    ("adapter", "end", "verdict", "says"),
    [
        # Plated steel against aluminium: common practice, no source.
        ("steel", "aluminium", Verdict.CAUTION, "aluminium is eaten"),
        ("aluminium", "aluminium", Verdict.PASS, "nothing against"),
    ],
)
def test_an_adapter_meets_the_end_on_it_too(tmp_path, adapter, end, verdict, says):
    own = {"port": "face-seal -8", "offers": "flare37 -8", "means": "x", "bore": "9 mm", "made_of": adapter}
    found = judged(tmp_path, "face-seal -8", made_of=end, rows={"adapters": {"own": own}})["joint.metal.from"]
    assert found.verdict is verdict
    assert says in said(found)[0]
    assert f"own {adapter}, mine {end}" in said(found)[0]


@pytest.mark.parametrize("port", ["npt 1/4", "bspt 1/4"])
def test_a_taper_thread_asks_what_its_bung_is_made_of(tmp_path, port):
    # A taper splits or galls a soft bung: common practice, no source.
    found = judged(tmp_path, port, port)["joint.metal.from"]
    assert found.verdict is Verdict.UNCHECKED
    assert found.needs == "made_of of a.out: what its bung is made of"


# ---------------------------------------------------------------- brakes


@pytest.mark.parametrize(
    ("thread", "attaches", "verdict", "says"),
    [
        # Single flares are not for brake tube: published how-to pages.
        ("flare45 3/16", "flared", Verdict.FAIL, "single 45 deg"),
        ("barb 1/4", "push-on", Verdict.FAIL, "no barb"),
        ("flare37 -3", "push-on", Verdict.FAIL, "push-on"),
        # 49 CFR 571.106: permanently attached ends on road vehicles.
        ("flare37 -3", "reusable", Verdict.CAUTION, "49 CFR 571.106"),
        ("flare37 -3", "crimped", Verdict.PASS, "nothing against"),
        ("inverted45 3/16", "flared", Verdict.PASS, "nothing against"),
        ("bubble M10x1", "flared", Verdict.PASS, "nothing against"),
    ],
)
def test_what_a_brake_line_must_not_have(tmp_path, thread, attaches, verdict, says):
    found = judged(tmp_path, thread, thread, attaches=attaches, liquid="dot-4")["joint.brake.from"]
    assert found.verdict is verdict
    assert says in said(found)[0]
    assert "its own rules say" in said(found)[0]


def test_what_does_not_go_together_is_no_joint_to_pass(tmp_path):
    every = judged(tmp_path, "inverted45 3/16", "bubble M10x1", liquid="dot-4", attaches="flared")
    assert every["joint.fit.from"].verdict is Verdict.FAIL
    assert "joint.brake.from" not in every


def test_other_lines_may_have_them(tmp_path):
    assert "joint.brake.from" not in judged(tmp_path, "flare45 3/16", "flare45 3/16", attaches="reusable")


# ---------------------------------------------------------------- O-rings


@pytest.mark.parametrize(
    ("seals", "liquid", "celsius", "verdict"),
    [
        ("", "10w-40", 90, Verdict.UNCHECKED),
        # Mineral oil swells EPDM, glycol brake fluid nitrile, from memory.
        ("epdm", "10w-40", 90, Verdict.FAIL),
        ("nbr", "dot-4", 90, Verdict.FAIL),
        ("epdm", "dot-4", 90, Verdict.PASS),
        # Nitrile in mineral oil to 120 C, from memory.
        ("nbr", "10w-40", 120, Verdict.PASS),
        ("nbr", "10w-40", 121, Verdict.FAIL),
        ("fkm", "10w-40", 122, Verdict.PASS),
        # Abstract of a laboratory study with SAE J1681 fuels: fluoroelastomer swells least.
        ("fkm", "e85", 40, Verdict.PASS),
        ("nbr", "gasoline-summer", 40, Verdict.CAUTION),
    ],
)
def test_o_rings_stand_the_fluid_and_its_heat(tmp_path, seals, liquid, celsius, verdict):
    found = judged(tmp_path, "orb -8", liquid=liquid, celsius=celsius, seals=seals)["joint.seals/line"]
    assert found.verdict is verdict
    assert "1 O-ring" in said(found)[0]


def test_what_is_good_for_the_fluid_is_said_where_the_plan_says_nothing(tmp_path):
    found = judged(tmp_path, "orb -8", celsius=130)["joint.seals/line"]
    assert "fkm" in said(found)[0]
    # Nitrile stands 120 C, from memory: too little for 130 C.
    assert " nbr" not in said(found)[0]
    assert 'seals = "..."' in found.needs


@pytest.mark.parametrize(
    ("port", "end", "says"),
    [
        # A bonded washer is rubber in a ring of metal: common practice, no source.
        ("bspp 1/4", "bspp 1/4", "1 bonded washer of nbr"),
        ("flange drain", "flare37 -8", "1 gasket of nbr"),
    ],
)
def test_other_rubber_that_seals_counts_too(tmp_path, port, end, says):
    # Glycol brake fluid swells nitrile, from memory.
    found = judged(tmp_path, port, end, liquid="dot-4", seals="nbr")["joint.seals/line"]
    assert found.verdict is Verdict.FAIL
    assert says in said(found)[0]
    assert "of epdm" in said(found)[1]


def test_without_an_o_ring_no_rubber_is_asked_for(tmp_path):
    assert "joint.seals/line" not in judged(tmp_path, "flare37 -8")


# ---------------------------------------------------------------- room for the spanner

# A -8 nut is 7/8 in across flats (US Army TM 55-1520-240-23-1). Across corners 7/8 x 2/sqrt(3); an open spanner's head
# 2.1 x 22.2 mm + 7 mm (ISO 3318, from memory). Half of each: 39.7 mm from axis to axis; two nuts touch at 25.7 mm.
FLATS = 7 / 8 * INCH
NEEDS = FLATS / math.sqrt(3) + (2.1 * FLATS + 0.007) / 2


def side_by_side(folder, apart, *, second="up", along=0):
    """Findings of two -8 hoses on one tee, so many mm apart across and along."""
    plan = read(
        folder,
        circuits={"line": {"fluid": "10w-40", "temperature": "60 C"}},
        components={
            "block": {
                "kind": "tee",
                "bore": "10 mm",
                "ports": {
                    "a": {"at": "0, 0, 0 mm", "points": "up", "thread": "flare37 -8"},
                    "b": {"at": f"{apart}, 0, {along} mm", "points": second, "thread": "flare37 -8"},
                },
            },
            "in": {"kind": "source", "pressure": "3 bar"},
            "out": {"kind": "open"},
        },
        runs={
            tag: run(*ends, HOSE, length="1 m", length_is="cut", rise="0 m", ends=["straight", "straight"])
            for tag, ends in {"H1": ("in.out", "block.a"), "H2": ("block.b", "out.in")}.items()
        },
    )
    return {f.id: f for f in findings(study(plan))}.get("joint.room/block")


@pytest.mark.parametrize(
    ("apart", "verdict"),
    [
        (25, Verdict.FAIL),
        (26, Verdict.CAUTION),
        (39, Verdict.CAUTION),
        (40, Verdict.PASS),
        (60, Verdict.PASS),
    ],
)
def test_a_spanner_needs_room_beside_the_next_nut(tmp_path, apart, verdict):
    found = side_by_side(tmp_path, apart)
    assert found.verdict is verdict
    assert found.value.value == pytest.approx(apart / 1e3)
    assert found.low.value == pytest.approx(NEEDS) == pytest.approx(0.0397, abs=1e-4)
    assert found.worst.station == "a and b"
    assert found.basis is Grade.MEMORY
    # Rounded up to the next millimetre.
    assert ("40 mm apart" in said(found)[1]) == (verdict is not Verdict.PASS)


def test_one_nut_in_front_of_the_other_counts_across_the_axes(tmp_path):
    assert side_by_side(tmp_path, 30, along=50).value.value == pytest.approx(0.030)


@pytest.mark.parametrize(("second", "counts"), [("up 29 deg forward", True), ("up 31 deg forward", False)])
def test_nuts_stand_side_by_side_up_to_30_deg(tmp_path, second, counts):
    # Common practice, no source.
    assert (side_by_side(tmp_path, 30, second=second) is not None) == counts


@pytest.mark.parametrize("second", ["forward", "down"])
def test_nuts_that_point_apart_are_left_alone(tmp_path, second):
    assert side_by_side(tmp_path, 30, second=second) is None
