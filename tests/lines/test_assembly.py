"""Lengths of an assembly: what is cut, from seat to seat, and overall."""

import math

import pytest
from writing import read, run, tube

from catalogs.catalog import Catalog
from catalogs.grades import Grade
from lines.assembly import assembly

IN = 0.0254
HOSE = "ptfe-braid -6"
ENDS = """id,cutoff,drop,overhang,insertion,source,grade
,in,in,in,in,,
ptfe-braid -6 straight,0.81,,0.15,0.70,for the test,measured
ptfe-braid -6 90 deg,1.25,0.95,0,0.70,for the test,measured
"""


def made_of(folder, shop=ENDS, *, a=None, b=None, stock=HOSE, rows=None, **facts):
    """The assembly of one run with the shop's own ends."""
    (folder / "shop").mkdir(exist_ok=True)
    (folder / "shop" / "ends.csv").write_text(shop, encoding="utf-8")
    plan = read(
        folder,
        plan={"shop": "shop"},
        circuits={"line": {"fluid": "10w-40", "temperature": "90 C"}},
        components={
            "a": {"kind": "open", "ports": {"in": a or {}}},
            "b": {"kind": "open", "ports": {"in": b or {}}},
        },
        **({"stock": rows} if rows else {}),
        runs={"H1": run("a.in", "b.in", stock, **facts)},
    )
    return assembly(plan, "H1")


# What one straight end takes, US Navy NAVEDTRA 14018 Table 5-2 (MS27616), twice that in Table 4-22 column A of US Army
# TM 1-1500-204-23-2 for two straight ends: dash, one end, both ends [in].
STRAIGHT_ENDS = [
    (3, 0.70, 1.40), (4, 0.74, 1.48), (5, 0.77, 1.54), (6, 0.81, 1.62), (8, 0.93, 1.86), (10, 1.05, 2.10),
    (12, 1.13, 2.26), (16, 1.30, 2.60),
]  # fmt: skip


@pytest.mark.parametrize(("dash", "one", "both"), STRAIGHT_ENDS)
def test_the_published_cut_off_of_two_straight_ends(tmp_path, dash, one, both):
    assert both == pytest.approx(2 * one)
    plan = read(
        tmp_path,
        circuits={"line": {"fluid": "10w-40", "temperature": "90 C"}},
        components={"a": {"kind": "open"}, "b": {"kind": "open"}},
        runs={
            "H1": run("a.in", "b.in", f"ptfe-braid -{dash}", length="30 in", length_is="seat-to-seat",
                      ends=["straight", "straight"]),
        },
    )  # fmt: skip
    made = assembly(plan, "H1")
    assert made.cut / IN == pytest.approx(30 - both)
    assert made.grade is Grade.PUBLISHED
    assert not made.provisional


def by_tape(folder, length_is, chosen=("straight", "straight"), shop=ENDS, **facts):
    """An assembly of 20 in by tape."""
    return made_of(folder, shop, length="20 in", length_is=length_is, ends=list(chosen), **facts)


@pytest.mark.parametrize(
    ("length_is", "cut", "seats", "overall"),
    [("cut", 20.0, 21.62, 21.92), ("seat-to-seat", 18.38, 20.0, 20.3), ("overall", 18.08, 19.7, 20.0)],
)
def test_three_lengths_of_one_hose(tmp_path, length_is, cut, seats, overall):
    # 0.81 in cut off and 0.15 in of nut over the seat at each end; 0.70 in of hose in each collar.
    made = by_tape(tmp_path, length_is)
    assert (made.cut / IN, made.length / IN, made.overall / IN) == pytest.approx((cut, seats, overall))
    assert made.free / IN == pytest.approx(cut - 2 * 0.70)
    assert not made.provisional


def test_an_elbow_is_measured_to_the_centre_line_of_its_outlet(tmp_path):
    # MIL-DTL-83796/5 figs 2-3: straight ends at the sealing face, elbows at the outlet's centre line: it adds nothing.
    made = by_tape(tmp_path, "overall", ("straight", "90 deg"))
    assert made.length / IN == pytest.approx(20 - 0.15)
    assert made.cut / IN == pytest.approx(20 - 0.15 - 0.81 - 1.25)


def test_an_overall_length_with_an_unmeasured_nut_is_provisional(tmp_path):
    shop = ENDS.replace("straight,0.81,,0.15,", "straight,0.81,,,")
    made = by_tape(tmp_path, "overall", shop=shop)
    assert made.nuts_in_length == ("A", "B")
    assert made.provisional
    assert made.overall is None
    assert not by_tape(tmp_path, "seat-to-seat", shop=shop).provisional


# ---------------------------------------------------------------- by points


def test_a_quarter_turn_between_straight_ends(tmp_path):
    # 12 in to the corner and 12 in on; the hose bends to 4 in on its inside, 4 in and half its 11 mm on its centreline.
    a, b = {"at": "0, 0, 0 in", "points": "forward"}, {"at": "12, 12, 0 in", "points": "right"}
    made = made_of(tmp_path, a=a, b=b, via=["12, 0, 0 in"])
    radius = 4 + 11.0 / 25.4 / 2
    assert made.length / IN == pytest.approx(24 - (2 - math.pi / 2) * radius)
    assert made.cut / IN == pytest.approx(made.length / IN - 1.62)
    assert [bend.radius / IN for bend in made.bends] == pytest.approx([radius])
    # Said to be laid wider: 6 in on its inside.
    wider = made_of(tmp_path, a=a, b=b, via=["12, 0, 0 in"], radius="6 in")
    assert wider.length / IN == pytest.approx(24 - (2 - math.pi / 2) * (radius + 2))


def test_tube_is_bent_to_its_centreline_and_its_flares_take_tube(tmp_path):
    # Two straights of 5 in to the corner; steel tube 3/16 bends to the radius of the table on its centreline.
    flare = {"thread": "flare37 -3"}
    a, b = {"at": "0, 0, 0 in", "points": "forward"} | flare, {"at": "5, 5, 0 in", "points": "right"} | flare
    made = made_of(tmp_path, a=a, b=b, stock="tube-steel -3", via=["5, 0, 0 in"])
    radius = made.stock.bend_radius / IN
    takes = -sum(end.cutoff for end in made.chosen) / IN
    assert takes > 0
    assert made.length / IN == pytest.approx(10 - (2 - math.pi / 2) * radius)
    assert made.cut / IN == pytest.approx(made.length / IN + takes)


def test_hose_over_spigots_is_longer_than_between_them(tmp_path):
    barb = {"thread": "barb 1"}
    a, b = {"at": "0, 0, 0 in", "points": "forward"} | barb, {"at": "30, 0, 0 in", "points": "back"} | barb
    made = made_of(tmp_path, a=a, b=b, stock="coolant -16", via=[])
    over = Catalog().end("coolant -16 plain").insertion
    assert made.length / IN == pytest.approx(30)
    assert made.cut == pytest.approx(30 * IN + 2 * over)
    assert made.free == pytest.approx(30 * IN)


def test_an_adapter_stands_between_the_port_and_the_seat(tmp_path):
    # 40 in between the faces of two ports; the adapter takes its length off on one side.
    adapter = Catalog().adapters_to("orb -8", "flare37 -6")[0]
    a = {"at": "0, 0, 0 in", "points": "forward", "thread": "orb -8"}
    b = {"at": "40, 0, 0 in", "points": "back", "thread": "flare37 -6"}
    made = made_of(tmp_path, a=a, b=b, via=[])
    assert made.length == pytest.approx(40 * IN - adapter.length)
    assert made.adapters_in_length  # our table's length of it is nobody's measure
    shop = f"id,length,source,grade\n,in,,\n{adapter.id},0.90,for the test,measured\n"
    (tmp_path / "shop" / "adapters.csv").write_text(shop, encoding="utf-8")
    made = made_of(tmp_path, a=a, b=b, via=[])
    assert made.length / IN == pytest.approx(39.1)
    assert not made.provisional


def test_a_span_with_bends_between_known_ports_is_a_way(tmp_path):
    # 12 in forward and 12 in left, out of a port that points forward into one that points right: one quarter turn.
    a, b = {"points": "forward"}, {"points": "right"}
    bends = [{"turn": "90 deg", "inside_radius": "5 in"}]
    span = {"forward": "12 in", "left": "12 in"}
    made = made_of(tmp_path, a=a, b=b, span=span, bends=bends, ends=["straight", "straight"])
    radius = 5 + 11.0 / 25.4 / 2
    assert not made.placed
    assert made.length / IN == pytest.approx(24 - (2 - math.pi / 2) * radius)
    # Three bends were measured where the ports alone would have one: what is between is not known.
    assert made_of(tmp_path, a=a, b=b, span=span, bends=bends * 3, ends=["straight", "straight"]).route is None
    unknown = made_of(tmp_path, span=span, bends=bends, ends=["straight", "straight"])
    assert unknown.route is None
    assert unknown.cut is None


def test_two_ends_that_overlap_leave_less_than_no_hose(tmp_path):
    a, b = {"at": "0, 0, 0 in", "points": "forward"}, {"at": "1.5, 0, 0 in", "points": "back"}
    made = made_of(tmp_path, a=a, b=b, via=[], ends=["straight", "straight"])
    assert made.cut / IN == pytest.approx(1.5 - 1.62)


def test_a_clamp_point_behind_the_collar_changes_nothing(tmp_path):
    a, b = {"at": "0, 0, 0 in", "points": "forward"}, {"at": "20, 20, 0 in", "points": "right"}
    one = made_of(tmp_path, a=a, b=b, via=["20, 0, 0 in"])
    two = made_of(tmp_path, a=a, b=b, via=["2, 0, 0 in", "20, 0, 0 in"])
    assert two.cut == pytest.approx(one.cut)
    assert [bend.room for bend in two.bends] == pytest.approx([bend.room for bend in one.bends])


def test_tube_of_a_test_has_no_end_and_no_cut_length(tmp_path):
    made = made_of(tmp_path, stock="odd", rows={"odd": tube("8 mm")}, length="1 m", length_is="overall")
    assert made.cut is None
    assert any("no hose end" in need for need in made.needs)
