"""What is in each edge of a circuit: by hand, and a component's law by its own points."""

import math

import fluids.fittings
import fluids.flow_meter
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from writing import fluid, read, run, tube

from catalogs.catalog import Catalog
from catalogs.errors import UnknownInputError
from lines.assembly import assembly
from lines.graph import circuit
from lines.plan import PointsTable
from solver.bores import bore_at
from solver.fittings import bend
from solver.points import fitted, points_estimates
from solver.properties import density, dynamic_viscosity
from solver.resistances import of_path, of_run

INCH = 0.0254


@pytest.fixture(scope="module")
def catalog():
    return Catalog()


# ---------------------------------------------------------------- a run

TAPE = {"length": "1 m", "length_is": "seat-to-seat"}


def plan_of(folder, stock="ptfe-braid -6", *, components=None, a=None, b=None, **facts):
    """A plan of one run H1 from a.out to b.in, whose ports may be declared."""
    plain = {
        "a": {"kind": "source", "pressure": "1 bar", "ports": {"out": a or {}}},
        "b": {"kind": "draw", "flow": "1 L/min", "ports": {"in": b or {}}},
    }
    return read(
        folder,
        circuits={"line": {"fluid": "water", "temperature": "20 C"}},
        components=components or plain,
        stock={"pipe": tube("10 mm")},
        runs={"H1": run(*(("a.out", "b.in") if components is None else ("a.in", "b.in")), stock, **facts)},
    )


def made_of(folder, *args, **facts):
    """The plan, its run's assembly, and the resistance of that."""
    plan = plan_of(folder, *args, **facts)
    made = assembly(plan, "H1")
    return plan, made, of_run(plan, made, {})


def k_on(part, bore, *, back=False):
    area = math.pi * bore**2 / 4
    return 2 * area**2 * (part.inertial_back if back else part.inertial)


def part(found, name):
    (only,) = [p for p in found.parts if p.name == name]
    return only


def lengths(found):
    return {pipe.name: pipe.length for pipe in found.pipes}


def into(wide, narrow):
    return fluids.fittings.contraction_sharp(Di1=wide, Di2=narrow)


def out_of(narrow, wide):
    return fluids.fittings.diffuser_sharp(Di1=narrow, Di2=wide)


def test_a_run_is_its_ends_its_hose_and_the_arcs_of_its_bends(tmp_path):
    # -6 hose of 0.3125 in, ends of 0.261 in from their seat to the last thread inside the hose.
    # Two bends of 90 deg, 100 mm inside radius: arcs of pi/2 (100 mm + half of the hose's outside) each.
    bends = [{"turn": "90 deg", "inside_radius": "100 mm"}] * 2
    _, made, found = made_of(tmp_path, ends=["straight", "straight"], bends=bends, **TAPE)
    end, stock = made.chosen[0], made.stock
    metal = end.cutoff + end.insertion
    arc = math.pi / 2 * (0.1 + stock.outside / 2)
    assert lengths(found) == pytest.approx(
        {
            "hose": 1 - 2 * metal - 2 * arc,
            "bend 1": arc,
            "bend 2": arc,
            "the end at a.out": metal,
            "the end at b.in": metal,
        }
    )
    assert sum(lengths(found).values()) == pytest.approx(1.0)
    pipes = {pipe.name: pipe for pipe in found.pipes}
    assert pipes["the end at a.out"].bore == pytest.approx(0.261 * INCH)
    assert pipes["bend 1"].curvature == pytest.approx(stock.bore / (2 * (0.1 + stock.outside / 2)))
    assert pipes["hose"].curvature == 0


def test_the_length_of_a_run_by_its_points_has_the_arcs_in_it(tmp_path):
    # Two legs of 500 mm with a corner of 90 deg of 100 mm radius: the arc is 157 mm where the corner had 200, and
    # 800 mm are left of a tube that has no ends.
    a = {"at": "0, 0, 0 mm", "points": "forward"}
    b = {"at": "500, 500, 0 mm", "points": "right"}
    _, made, found = made_of(tmp_path, "pipe", a=a, b=b, via=["500, 0, 0 mm"], radius="100 mm")
    assert made.length == pytest.approx(0.8 + 0.1 * math.pi / 2)
    assert lengths(found) == pytest.approx({"hose": 0.8, "bend 1": 0.1 * math.pi / 2})
    assert found.pipes[1].curvature == pytest.approx(0.05)


def test_what_a_bend_costs_beside_its_arc_stands_by_its_name(tmp_path):
    facts = {"bends": [{"turn": "90 deg", "inside_radius": "10 mm"}, {"turn": "90 deg", "inside_radius": "300 mm"}]}
    _, _, found = made_of(tmp_path, "pipe", **TAPE, **facts)
    # The inside radius to the centreline: half of the 20 mm outside more.
    assert part(found, "bend 1") == bend("bend 1", 0.01, 0.02, math.pi / 2, 1e-7)
    assert "bend 2" not in {p.name for p in found.parts if p.viscous}


def test_bends_that_were_not_measured_are_said(tmp_path):
    _, _, found = made_of(tmp_path, "pipe", **TAPE)
    assert lengths(found) == {"hose": 1.0}
    assert "H1: its bends were not measured, so their loss is left out" in found.estimates


def test_bends_longer_than_the_run_are_said_and_never_make_it_longer(tmp_path):
    # Three half turns of 110 mm to the centreline are 1037 mm of a metre of tube.
    bends = [{"turn": "180 deg", "inside_radius": "100 mm"}] * 3
    _, _, found = made_of(tmp_path, "pipe", bends=bends, **TAPE)
    assert lengths(found) == pytest.approx({"hose": 0.0, "bend 1": 1 / 3, "bend 2": 1 / 3, "bend 3": 1 / 3}, abs=1e-12)
    assert [said for said in found.estimates if "1037 mm" in said and "1000 mm" in said]


def test_two_ends_that_take_up_the_whole_run_leave_no_hose(tmp_path):
    facts = {"length": "10 mm", "length_is": "seat-to-seat", "bends": []}
    _, _, found = made_of(tmp_path, ends=["straight", "straight"], **facts)
    assert all(length >= 0 for length in lengths(found).values())
    assert sum(lengths(found).values()) == pytest.approx(0.01)


def test_a_run_without_length_is_refused_by_name(tmp_path):
    plan = plan_of(tmp_path)
    with pytest.raises(UnknownInputError, match="length of H1"):
        of_run(plan, assembly(plan, "H1"), {})


def test_each_change_of_bore_is_met_from_its_own_side(tmp_path):
    # Out of the first end the flow widens into the hose, into the second it narrows: Borda and Carnot, and Rennels'
    # contraction as the library has it, both on the velocity in the end.
    _, made, found = made_of(tmp_path, ends=["straight", "straight"], **TAPE)
    hose, end = made.stock.bore, made.chosen[0].bore
    first, last = (part(found, f"bore of the end at {port}") for port in ("a.out", "b.in"))
    assert k_on(first, end) == pytest.approx(out_of(end, hose))
    assert k_on(last, end) == pytest.approx(into(hose, end))
    assert (first.inertial_back, last.inertial_back) == pytest.approx((last.inertial, first.inertial))


def test_an_elbow_is_on_the_bore_of_its_end(tmp_path):
    # Silverberg and Darby 1999, 90 deg, r/D 2: (800, 0.056, 3.9), on 0.261 in.
    _, made, found = made_of(tmp_path, ends=["90 deg", "straight"], **TAPE)
    end = made.chosen[0].bore
    assert end < made.stock.bore
    turbulent = 0.056 * (1 + 3.9 / (end / INCH) ** 0.3)
    assert k_on(part(found, "elbow of the end at a.out"), end) == pytest.approx(turbulent)


def test_an_elbow_between_the_published_angles_is_said(tmp_path):
    _, _, found = made_of(tmp_path, ends=["60 deg", "straight"], **TAPE)
    said = "H1, elbow of the end at a.out: its loss drawn between those published for 45 and 90 deg"
    assert said in found.estimates


def test_the_chain_from_the_port_inward_counts_each_bore_once(tmp_path):
    # Port of 12 mm, reducer from a -6 port into -8 hose, its end, the hose; and at b a port narrower than its end.
    a, b = {"thread": "flare37 -6", "bore": "12 mm"}, {"thread": "flare37 -8", "bore": "8 mm"}
    _, made, found = made_of(tmp_path, "ptfe-braid -8", a=a, b=b, ends=["straight", "straight"], **TAPE)
    adapter, end, hose = made.joints[0].adapter, made.chosen[0].bore, made.stock.bore
    neck = part(found, "adapter at a.out")
    assert adapter.bore < end < hose
    # Along the flow: into the adapter out of the port, out of it into the end; the other way each turned.
    assert k_on(neck, adapter.bore) == pytest.approx(into(0.012, adapter.bore) + out_of(adapter.bore, end))
    back = k_on(neck, adapter.bore, back=True)
    assert back == pytest.approx(into(end, adapter.bore) + out_of(adapter.bore, 0.012))
    assert k_on(part(found, "bore of the end at a.out"), end) == pytest.approx(out_of(end, hose))
    assert k_on(part(found, "bore of the end at b.in"), end) == pytest.approx(into(hose, end))
    assert k_on(part(found, "bore of the port at b.in"), 0.008) == pytest.approx(into(end, 0.008))
    assert lengths(found)["the adapter at a.out"] == adapter.length


def test_an_adapter_that_necks_the_line_costs_what_its_bore_costs(tmp_path):
    # From a port of -6 into hose of -8 by a reducer: into the bore of the reducer and out of it again, for a port that
    # does not say its bore is taken to be as wide as the end.
    _, made, found = made_of(
        tmp_path, "ptfe-braid -8", a={"thread": "flare37 -6"}, ends=["straight", "straight"], **TAPE
    )
    wide, narrow = made.chosen[0].bore, made.joints[0].adapter.bore
    neck = part(found, "adapter at a.out")
    assert k_on(neck, narrow) == pytest.approx(into(wide, narrow) + out_of(narrow, wide))
    assert neck.inertial_back == pytest.approx(neck.inertial)


def test_a_large_space_begins_at_the_adapter(tmp_path):
    # A tank takes the whole head of what flows into it out of the adapter: no step to a port behind that.
    tank = {"kind": "tank", "surface": {"full": "0 m", "low": "0 m"}}
    components = {
        "a": tank | {"ports": {"in": {"height": "0 m", "thread": "flare37 -6"}}},
        "b": tank | {"ports": {"in": {"height": "0 m", "thread": "flare37 -8"}}},
    }
    plan, made, found = made_of(tmp_path, "ptfe-braid -8", components=components, ends=["straight", "straight"], **TAPE)
    adapter, end = made.joints[0].adapter.bore, made.chosen[0].bore
    assert k_on(part(found, "adapter at a.in"), adapter) == pytest.approx(out_of(adapter, end))
    at = {port: bore_at(plan, {"H1": made}, port) for port in ("a.in", "b.in", "a.other")}
    assert at == {"a.in": adapter, "b.in": end, "a.other": None}


# ---------------------------------------------------------------- a component's inner path


def path_of(folder, component, around=None, **options):
    """The resistance of the one inner path of a component, in a line of oil."""
    plan = read(
        folder,
        fluids={"oil": fluid("850 kg/m3", "20 mPa s")},
        circuits={"line": {"fluid": "oil", "temperature": "20 C"}},
        components={
            "a": {"kind": "source", "pressure": "1 bar"},
            "it": component,
            "b": {"kind": "draw", "flow": "1 L/min"},
        },
        stock={"pipe": tube("10 mm")},
        runs={"P1": run("a.out", "it.in", "pipe", **TAPE), "P2": run("it.out", "b.in", "pipe", **TAPE)},
    )
    (edge,) = [e for e in circuit(plan, "line").edges.values() if e.component and e.component.name == "it" and e.path]
    return of_path(plan, edge, around, **options)


RESTRICTOR = {"kind": "restrictor", "bore": "1 mm", "length": "2 mm"}


def test_a_restrictor_loses_what_its_line_does_not_recover(tmp_path):
    # ISO 5167-2 as the library has it, on the line of 3 mm; the table's coefficient is 0.7.
    found = path_of(tmp_path, RESTRICTOR, around=0.003)
    iso = fluids.flow_meter.discharge_coefficient_to_K(D=0.003, Do=0.001, C=0.7)
    assert k_on(part(found, "hole"), 0.003) == pytest.approx(iso)
    assert found.estimates == ()


def test_a_restrictor_in_an_unknown_line_recovers_nothing_and_says_so(tmp_path):
    found = path_of(tmp_path, RESTRICTOR)
    assert k_on(part(found, "hole"), 0.001) == pytest.approx(1 / 0.7**2)
    assert found.estimates == (
        "it: the bore of the line beside it is not known, so no pressure is recovered behind it",
    )


@pytest.mark.parametrize("around", [0.001, 0.0009])
def test_a_hole_no_narrower_than_its_line_is_an_error(tmp_path, around):
    with pytest.raises(UnknownInputError, match=r"the hole of it is 1\.00 mm wide and the line beside it"):
        path_of(tmp_path, RESTRICTOR, around=around)


def test_a_discharge_coefficient_over_one_is_an_error(tmp_path):
    with pytest.raises(UnknownInputError, match="cd of it"):
        path_of(tmp_path, RESTRICTOR | {"cd": 1.2}, around=0.01)


FILTER = {
    "kind": "filter",
    "points": {"fluid": "water", "temperature": "20 C", "flow": ["2 L/min", "8 L/min"], "drop": ["1 kPa", "10 kPa"]},
}


def test_a_filter_when_due_has_so_many_times_its_clean_drop(tmp_path):
    clean, due = (path_of(tmp_path, FILTER | {"loaded": 3.0}, loaded=loaded) for loaded in (False, True))
    one, other = clean.parts[0], due.parts[0]
    assert (other.viscous, other.inertial) == pytest.approx((3 * one.viscous, 3 * one.inertial))
    assert other.inertial_back == other.inertial
    assert due.estimates == ()


def test_a_filter_of_which_nobody_knows_how_it_loads_says_so(tmp_path):
    clean, due = (path_of(tmp_path, FILTER, loaded=loaded) for loaded in (False, True))
    assert due.parts == clean.parts
    assert clean.estimates == ()
    assert due.estimates == ("it: its drop when due is not known, and counts as when clean",)


def test_a_filter_that_would_get_better_with_dirt_is_an_error(tmp_path):
    with pytest.raises(UnknownInputError, match=r"loaded of it cannot be 0\.5"):
        path_of(tmp_path, FILTER | {"loaded": 0.5}, loaded=True)


def test_what_is_no_filter_is_the_same_when_one_is_due(tmp_path):
    cooler = FILTER | {"kind": "cooler"}
    assert path_of(tmp_path, cooler, loaded=True) == path_of(tmp_path, cooler)


# ---------------------------------------------------------------- a component's own points


def points(flows, drops, *, liquid="water", at="20 C"):
    text = {"flow": [f"{q!r} L/min" for q in flows], "drop": [f"{float(p)!r} Pa" for p in drops]}
    return PointsTable.model_validate({"fluid": liquid, "temperature": at} | text)


def law_of(a, b, flows, rho, mu):
    q = np.array(flows) / 60_000
    return a * mu * q + b * rho * q**2


laws = st.tuples(st.floats(1e9, 1e13), st.floats(1e7, 1e11))


@given(law=laws, flows=st.lists(st.integers(1, 100), min_size=2, max_size=6, unique=True))
def test_points_on_a_law_give_the_law(law, flows):
    catalog = Catalog()
    water, at = catalog.fluid("water"), np.array([293.15])
    rho, mu = density(water, at)[0], dynamic_viscosity(water, at)[0]
    found, miss = fitted(catalog, points(flows, law_of(*law, flows, rho, mu)))
    # What the points can tell: their drops, and so each coefficient as far as it shows in them.
    again = law_of(found.viscous, found.inertial, flows, rho, mu)
    assert again == pytest.approx(law_of(*law, flows, rho, mu), rel=1e-6)
    assert miss < 1e-6


def test_both_coefficients_are_found_where_both_show(catalog):
    water, at = catalog.fluid("water"), np.array([293.15])
    rho, mu = density(water, at)[0], dynamic_viscosity(water, at)[0]
    found, _ = fitted(catalog, points([1, 4, 10], law_of(2e11, 5e9, [1, 4, 10], rho, mu)))
    assert (found.viscous, found.inertial) == pytest.approx((2e11, 5e9), rel=1e-9)


def test_points_that_no_law_goes_through_say_so(catalog):
    # All but the same at every flow: the nearest law that rises from nothing cannot but miss.
    found, miss = fitted(catalog, points([1, 2, 4], [2000.0, 2100.0, 2200.0]))
    assert miss > 0.1
    assert found.viscous >= 0
    assert found.inertial >= 0


def test_one_point_alone_rises_with_the_square(catalog):
    found, miss = fitted(catalog, points([10], [20_000.0]))
    drop, _ = found.drop(np.array([20 / 60_000]), np.array([998.21]), np.array([1.0016e-3]))
    assert drop[0] == pytest.approx(80_000, rel=1e-9)
    assert (found.viscous, miss) == (0.0, 0.0)


def test_a_flow_by_mass_is_taken_at_the_density_of_the_points(catalog):
    # 59.8926 kg/h of water at 20 C, 998.21 kg/m3, is 1 L/min.
    by_mass = points([1], [1000.0]).model_dump() | {"flow": ("59.8926 kg/h",), "drop": ("1000 Pa",)}
    by_mass = PointsTable.model_validate(by_mass | {"temperature": "20 C"})
    one, two = fitted(catalog, by_mass)[0], fitted(catalog, points([1], [1000.0]))[0]
    assert one.inertial == pytest.approx(two.inertial, rel=1e-6)


def test_a_point_without_a_drop_is_left_out(catalog):
    # A gauge that shows nothing at 1 L/min; weighed by its own drop it would be all of the fit.
    table = points([1, 4, 10], [0.0, 1_600.0, 10_000.0])
    found, miss = fitted(catalog, table)
    alone, _ = fitted(catalog, points([4, 10], [1_600.0, 10_000.0]))
    assert (found, miss) == (alone, pytest.approx(0.0, abs=1e-6))
    assert said_of(table) == ("it: its points without a drop are left out",)


def test_points_without_any_drop_are_refused_by_name(catalog):
    with pytest.raises(UnknownInputError, match="the points of filter have no drop"):
        fitted(catalog, points([1, 2], [0.0, 0.0]), owner="filter")


def said_of(table, miss=0.0):
    class Owner:
        name = "it"
        figures = {"points": table}  # noqa: RUF012

    return points_estimates(Owner(), miss)


@given(law=laws, start=st.floats(1.0, 50.0), apart=st.floats(1.0, 1.2))
def test_points_close_together_tell_nothing_of_viscosity(law, start, apart):
    # Either law goes through two points to 10 % where its coefficient by one is within 1.1/0.9 = 1.22 of that by the
    # other. The two quotients multiply to that of the flows: up to 1.22 both always do, from 1.22^2 on never.
    flows = [start, start * apart * 1.0001]
    assert "too close together" in said_of(points(flows, law_of(*law, flows, 998.2, 1e-3)))[0]


@given(law=laws, start=st.floats(1.0, 20.0), apart=st.floats(1.5, 4.0))
def test_points_far_apart_tell_what_is_viscous(law, start, apart):
    flows = [start, start * apart]
    assert said_of(points(flows, law_of(*law, flows, 998.2, 1e-3))) == ()


def test_what_has_to_be_said_of_one_point_and_of_a_miss():
    assert said_of(points([10], [20_000.0])) == ("it: one point only, taken to rise with the square of the flow",)
    assert said_of(points([1, 4], [10.0, 100.0]), 0.5) == (
        "it: its points miss the law drawn through them by up to 50%",
    )
