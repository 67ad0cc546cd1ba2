"""What fittings cost, against published correlations, a reference library and closed forms."""

import math

import fluids.fittings
import fluids.flow_meter
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalogs.catalog import Catalog
from catalogs.records import Loss
from solver.fittings import bend, change, coefficient, contraction, curvature, elbow, from_loss, hole, turned
from solver.friction import darcy_factor

BORE = 0.0103
bores = st.floats(0.002, 0.03)


@pytest.fixture(scope="module")
def catalog():
    return Catalog()


def k_of(part, bore, reynolds=math.inf, *, back=False):
    """A part's loss coefficient on the velocity head in a bore, worked back from its two numbers."""
    area = math.pi * bore**2 / 4
    inertial = part.inertial_back if back else part.inertial
    return 2 * area**2 * inertial + 2 * bore * area * part.viscous / reynolds


# ---------------------------------------------------------------- coefficients


@given(bore=bores, k=st.floats(0, 50), k1=st.floats(0, 3000), reynolds=st.floats(10, 1e5))
def test_a_coefficient_is_on_the_velocity_head(bore, k, k1, reynolds):
    # dp = (K + K1/Re) rho v^2 / 2, for oil.
    rho, mu = 850.0, 0.01
    velocity = reynolds * mu / (rho * bore)
    flow = velocity * math.pi * bore**2 / 4
    part = coefficient("part", bore, k, k1)
    drop = part.viscous * mu * flow + part.inertial * rho * flow**2
    assert drop == pytest.approx((k + k1 / reynolds) * rho * velocity**2 / 2, rel=1e-9)


def test_the_globe_valve_of_hooper(catalog):
    # Hooper, Chem. Eng., 24 Aug 1981, p. 97: K = K1/Re + Kinf (1 + 1/D), D in inches; a globe valve (1500, 4.0)
    # of 2 in at Re 10 000 has 6.15. As a row K (1 + kd / D^0.3) with D 1 in, whose root is 1.
    row = catalog.loss("globe").model_copy(update={"k1": 1500.0, "k": 4.0, "kd": 1.0})
    assert k_of(from_loss("globe", row, 0.0254), 0.0254, 1e4) == pytest.approx(1500 / 1e4 + 4.0 * 2, rel=1e-9)
    straight = row.model_copy(update={"kd": 0.5 * 2**0.3})
    assert k_of(from_loss("globe", straight, 0.0508), 0.0508, 1e4) == pytest.approx(6.15, rel=1e-9)


@pytest.mark.parametrize(("inches", "published"), [(2, 1.15725), (12, 0.81951)])
def test_the_angle_valve_of_darby(inches, published):
    # Silverberg and Darby, Chem. Eng. 106(7), 1999, 45 deg angle valve (950, 0.25, 4.0) at Re 10 000; as printed by
    # a library of these figures, with five decimals.
    row = Loss(id="angle", means="45 deg angle valve", k1=950, k=0.25, kd=4.0, source="the paper", grade="published")
    bore = inches * 0.0254
    assert k_of(from_loss("angle", row, bore), bore, 1e4) == pytest.approx(published, abs=6e-6)


# ---------------------------------------------------------------- a change of bore


@given(narrow=bores, wider=st.floats(1.01, 4.0))
def test_a_widening_is_that_of_borda_and_carnot(narrow, wider):
    # K = (1 - beta^2)^2 on the narrow bore, by momentum; exact for flat profiles.
    part = contraction("end", narrow * wider, narrow)
    assert k_of(part, narrow, back=True) == pytest.approx((1 - wider**-2) ** 2, rel=1e-9)


@given(narrow=bores, wider=st.floats(1.01, 4.0))
def test_a_narrowing_is_that_of_rennels(narrow, wider):
    # Pipe Flow (2012), eqs. 10.3 and 10.4, on the narrow bore, by hand.
    beta = 1 / wider
    jet = 1 + 0.622 * (1 - 0.215 * beta**2 - 0.785 * beta**5)
    k = k_of(contraction("end", narrow * wider, narrow), narrow)
    assert k == pytest.approx(0.0696 * (1 - beta**5) * jet**2 + (jet - 1) ** 2, rel=1e-9)
    # White, Fluid Mechanics, fig. 6.22: K = 0.42 (1 - beta^2), from older measurements. Rennels is above it, by up
    # to 0.18 at half the bore: the safe side.
    assert -0.01 <= k - 0.42 * (1 - beta**2) <= 0.19


def test_out_of_a_very_wide_bore_a_narrowing_is_a_sharp_entrance():
    # Rennels' 0.57 (eq. 9.1) for a perfectly sharp edge; Crane TP-410 prints 0.5.
    assert k_of(contraction("end", 1000 * BORE, BORE), BORE) == pytest.approx(0.57, abs=5e-3)


@pytest.mark.parametrize("reynolds", [50.0, 500.0, 2000.0])
def test_slow_oil_through_a_narrowing_has_the_laminar_part_of_hooper(reynolds):
    # Hooper, Chem. Eng., Nov 1988: (160 / Re1) (1/beta^4 - 1) on the wide bore's velocity head and Reynolds number.
    beta, wide = 0.835, BORE
    part = contraction("end", wide, beta * wide)
    laminar = k_of(part, beta * wide, reynolds / beta) - k_of(part, beta * wide)
    assert laminar / beta**4 == pytest.approx(160 / reynolds * (1 / beta**4 - 1), rel=1e-5)


@pytest.mark.parametrize("narrow", [BORE, BORE * 1.2])
def test_an_end_no_narrower_than_its_hose_costs_nothing(narrow):
    part = contraction("end", BORE, narrow)
    assert (part.viscous, part.inertial, part.inertial_back) == (0.0, 0.0, 0.0)


def test_the_same_part_from_its_other_side():
    part = contraction("end", BORE, 0.8 * BORE)
    other = turned(part)
    assert (other.inertial, other.inertial_back) == (part.inertial_back, part.inertial)
    assert part.inertial != part.inertial_back


@pytest.mark.parametrize("beta", [0.8, 0.835, 0.87])
@pytest.mark.parametrize("reynolds", [100.0, 500.0, 1000.0, 2000.0])
def test_slow_oil_through_a_neck_is_near_hooper_and_the_momentum_of_a_parabola(reynolds, beta):
    # Into it by Hooper's whole law for laminar flow, (1.2 + 160/Re1) (1 - beta^4) on the narrow bore; out of it by the
    # balance of momentum for parabolic profiles, 1 - 8/3 beta^2 + 5/3 beta^4 of total pressure by mean velocities. The
    # part's inertial coefficients are those of turbulent flow: 45 % too much at Re 100, 40 % too little at 2000.
    part = contraction("neck", BORE, beta * BORE)
    found = k_of(part, beta * BORE, reynolds) + k_of(part, beta * BORE, reynolds, back=True)
    into = fluids.fittings.contraction_sharp(Di1=BORE, Di2=beta * BORE, Re=beta * reynolds, method="Hooper")
    out = 1 - 8 / 3 * beta**2 + 5 / 3 * beta**4
    assert 0.55 < found / (into + out) < 1.5


def test_slow_oil_into_a_narrow_bore_is_no_more_than_into_one_from_a_tank():
    # Hooper, Chem. Eng., 24 Aug 1981: 160/Re for a sharp entrance (from memory).
    part = contraction("hole", 100 * BORE, BORE)
    assert k_of(part, BORE, 10.0) - k_of(part, BORE) == pytest.approx(16, rel=1e-9)


def test_a_change_of_bore_either_way():
    into, out = change("step", 2 * BORE, BORE), change("step", BORE, 2 * BORE)
    assert into == contraction("step", 2 * BORE, BORE)
    assert out == turned(into)


# ---------------------------------------------------------------- bends


def with_its_arc(degrees, ratio, reynolds, rough=3e-6):
    """K of a bend with the friction along its arc, as a run has it: the part, and a curved bore."""
    turn = math.radians(degrees)
    part = bend("bend", BORE, ratio * BORE, turn, rough)
    wall = np.array([rough / BORE]), np.array([curvature(BORE, ratio * BORE)])
    return k_of(part, BORE, reynolds) + float(darcy_factor(np.array([reynolds]), *wall)[0]) * turn * ratio


def rennels(degrees, ratio, reynolds, rough=3e-6):
    f = float(darcy_factor(np.array([reynolds]), np.array([rough / BORE]))[0])
    return fluids.fittings.bend_rounded(Di=BORE, angle=degrees, fd=f, bend_diameters=ratio, method="Rennels")


@pytest.mark.parametrize("degrees", [15, 45, 90, 135, 180])
@pytest.mark.parametrize("ratio", [1.0, 2.0, 4.0])
def test_a_sharp_bend_with_its_arc_is_that_of_rennels(degrees, ratio):
    # Rennels, Pipe Flow (2012), eq. 15.1, coded in the library. At Re 1e5 the two make it up exactly, but for what the
    # part has of slow flow, under 0.02.
    assert with_its_arc(degrees, ratio, 1e5) == pytest.approx(rennels(degrees, ratio, 1e5), abs=0.017)


@pytest.mark.parametrize("reynolds", [1e4, 3e4, 1e5, 3e5])
@pytest.mark.parametrize("degrees", [45, 90, 180])
@pytest.mark.parametrize("ratio", [2.0, 4.0, 8.0, 12.0])
def test_a_bend_is_near_rennels_at_every_speed(degrees, ratio, reynolds):
    # Rennels' loss falls with the friction factor, Ito's excess of the arc stays: 15 % apart at the most. A return bend
    # of two bores radius at Re 10 000 has 1000/Re of slow flow besides: 20 %.
    assert with_its_arc(degrees, ratio, reynolds) == pytest.approx(rennels(degrees, ratio, reynolds), rel=0.21)


@pytest.mark.parametrize("degrees", [45, 90, 180])
@pytest.mark.parametrize("ratio", [12.0, 20.0, 60.0])
def test_a_gentle_bend_is_the_friction_of_a_curved_bore(degrees, ratio):
    part = bend("bend", BORE, ratio * BORE, math.radians(degrees), 3e-6)
    assert part.viscous == 0
    # Of Rennels' bend without its friction less Ito's excess, a hundredth of a head or so stays at 45 deg.
    assert k_of(part, BORE) < 0.02


@pytest.mark.parametrize("reynolds", [10.0, 100.0, 300.0, 1000.0])
@pytest.mark.parametrize(("ratio", "row"), [(2.0, "elbow-90"), (4.0, "elbow-90-r4"), (6.0, "elbow-90-r6")])
def test_a_slow_quarter_turn_is_near_three_k(catalog, ratio, row, reynolds):
    # Silverberg and Darby 1999 for those three radii: within 15 % to Re 300, and 20 % at 1000, where White's law for
    # a long coil is the higher.
    loss = catalog.loss(row)
    assert with_its_arc(90, ratio, reynolds) == pytest.approx(loss.k1 / reynolds + loss.turbulent(BORE), rel=0.22)


def test_a_slow_quarter_turn_costs_800_over_the_reynolds_number():
    # Silverberg and Darby 1999, 90 deg: K1 800 of which the friction of the arc, 64 (pi/2) r/D, is counted with the
    # hose.
    part = bend("bend", BORE, 4 * BORE, math.pi / 2, 0.0)
    whole = 2 * BORE * (math.pi * BORE**2 / 4) * part.viscous + 64 * (math.pi / 2) * 4
    assert whole == pytest.approx(800, rel=1e-9)


@given(degrees=st.floats(1, 180), ratio=st.floats(0.1, 60))
def test_a_bend_never_gives_pressure_back(degrees, ratio):
    part = bend("bend", BORE, ratio * BORE, math.radians(degrees), 3e-6)
    assert part.viscous >= 0
    assert part.inertial >= 0
    assert part.inertial_back == part.inertial


def test_the_bend_of_miller():
    # Miller, Internal Flow Systems, example 9.12: 0.6 m, 4 m/s, 1.14e-6 m2/s, 90 deg of two bores radius, 0.02 mm
    # rough: K 0.150 with 30 bores of straight pipe behind, 0.135 with none. Re is 2.1e6, the
    # part's figures are those of 1e5, where f is higher: 25 % over the former at most, on the safe side.
    bore, reynolds = 0.6, 4 * 0.6 / 1.14e-6
    part = bend("bend", bore, 2 * bore, math.pi / 2, 2e-5)
    wall = np.array([2e-5 / bore]), np.array([curvature(bore, 2 * bore)])
    whole = k_of(part, bore, reynolds) + float(darcy_factor(np.array([reynolds]), *wall)[0]) * math.pi
    assert 0.150 <= whole <= 1.25 * 0.150


# ---------------------------------------------------------------- elbows of ends


def bent(catalog, degrees, **facts):
    end = catalog.end("ptfe-braid -6 90 deg")
    return end.model_copy(update={"angle": math.radians(degrees), "bore": 0.0066} | facts)


# Silverberg and Darby 1999: bends of 1.5, 2 and 1.5 bores radius, and the three threaded ones.
BENT = {45: (500, 0.052, 4.0), 90: (800, 0.056, 3.9), 180: (1000, 0.10, 4.0)}
THREADED = {45: (500, 0.071, 4.2), 90: (800, 0.14, 4.0), 180: (1000, 0.23, 4.0)}


@pytest.mark.parametrize(("ratio", "figures"), [(2.5, BENT), (1.0, THREADED), (None, THREADED)])
@pytest.mark.parametrize("degrees", [45, 90, 180])
def test_an_elbow_of_a_published_angle_has_the_published_loss(catalog, degrees, ratio, figures):
    part, grade, said = elbow(catalog, "elbow", bent(catalog, degrees, bend_ratio=ratio))
    k1, k, kd = figures[degrees]
    turbulent = k * (1 + kd / (0.0066 / 0.0254) ** 0.3)
    assert k_of(part, 0.0066, 500.0) == pytest.approx(k1 / 500 + turbulent, rel=1e-9)
    assert (grade, said) == ("published", "")


@pytest.mark.parametrize(
    ("degrees", "between", "share"), [(30, (0, 45), 2 / 3), (60, (45, 90), 1 / 3), (150, (90, 180), 2 / 3)]
)
def test_an_elbow_of_another_angle_lies_between(catalog, degrees, between, share):
    low, high = (k_of(elbow(catalog, "elbow", bent(catalog, d))[0], 0.0066, 300.0) if d else 0.0 for d in between)
    part, _, said = elbow(catalog, "elbow", bent(catalog, degrees))
    assert k_of(part, 0.0066, 300.0) == pytest.approx(low + share * (high - low), rel=1e-9)
    assert said == f"its loss drawn between those published for {between[0]} and {between[1]} deg"


@given(degrees=st.lists(st.floats(1.0, 180.0), min_size=2, max_size=2, unique=True), ratio=st.sampled_from([None, 2.5]))
def test_an_elbow_that_turns_more_costs_more(degrees, ratio):
    catalog = Catalog()
    less, more = (elbow(catalog, "elbow", bent(catalog, d, bend_ratio=ratio))[0] for d in sorted(degrees))
    assert more.viscous >= less.viscous
    assert more.inertial >= less.inertial


def test_a_banjo_is_a_mitred_corner_and_says_so(catalog):
    # Silverberg and Darby 1999: mitre, one weld (1000, 0.27, 4.0).
    end = catalog.end("ptfe-braid -4 banjo M10x1")
    part, _, said = elbow(catalog, "elbow", end)
    assert k_of(part, end.bore, 500.0) == pytest.approx(2 + 0.27 * (1 + 4 / (end.bore / 0.0254) ** 0.3), rel=1e-9)
    assert "mitred corner" in said


# ---------------------------------------------------------------- a hole


def drop_through(part, flow, rho, mu):
    return part.viscous * mu * flow + part.inertial * rho * flow**2


def test_a_thin_hole_in_slow_flow_is_that_of_sampson():
    # Sampson, Phil. Trans. R. Soc. A 182, 1891: q = d^3 dp / (24 mu), exact.
    assert drop_through(hole("hole", 0.001, 0.0, 0.7, None), 1e-9, 1e-9, 0.5) == pytest.approx(24 * 0.5 * 1e-9 / 1e-9)


def test_a_long_hole_in_slow_flow_is_that_of_poiseuille():
    part = hole("hole", 0.001, 1.0, 0.7, 0.02)
    assert part.viscous == pytest.approx(128 / (math.pi * 0.001**4), rel=1e-3)


@given(bore=st.floats(2e-4, 0.01), cd=st.floats(0.5, 1.0))
def test_a_hole_between_large_spaces_is_that_of_its_discharge_coefficient(bore, cd):
    # dp = rho q^2 / (2 (C A)^2), by definition; a line a thousand times as wide is as good as that.
    area = math.pi * bore**2 / 4
    for around in (None, 1000 * bore):
        assert hole("hole", bore, 0.0, cd, around).inertial == pytest.approx(1 / (2 * (cd * area) ** 2), rel=4e-6)


@given(beta=st.floats(0.05, 0.99), cd=st.floats(0.5, 1.0))
def test_a_hole_in_a_line_has_the_permanent_loss_of_iso_5167(beta, cd):
    # ISO 5167-2, coded in the library as K of the line.
    part = hole("hole", beta * BORE, 0.0, cd, BORE)
    other = fluids.flow_meter.discharge_coefficient_to_K(D=BORE, Do=beta * BORE, C=cd)
    assert k_of(part, BORE) == pytest.approx(other, rel=1e-6, abs=1e-9)


@given(beta=st.floats(0.05, 0.99))
def test_a_hole_that_lets_all_through_loses_what_its_jet_loses(beta):
    # With C = 1 the jet is as wide as the hole, and widens by Borda and Carnot: (1 - beta^2)^2 on its own bore.
    assert k_of(hole("hole", beta * BORE, 0.0, 1.0, BORE), beta * BORE) == pytest.approx((1 - beta**2) ** 2)


def test_the_nozzle_of_crane():
    # Crane TP-410, examples 7-30 and 7-31: nozzle of 2.40 in in 6 in schedule 40 (6.065 in), 225 US gal/min of water at
    # 60 F (62.364 lb/ft3): permanent loss 1.272 psi, with C read from a chart as 0.98 or so and two-figure throat: 1 %.
    inch, flow = 0.0254, 225 * 231 * 0.0254**3 / 60
    part = hole("nozzle", 2.40 * inch, 0.0, 0.98, 6.065 * inch)
    assert part.inertial * 998.98 * flow**2 / 6894.76 == pytest.approx(1.272, rel=0.01)


@pytest.mark.parametrize("ideal", [200.0, 500.0, 1000.0, 5000.0, 20_000.0])
@pytest.mark.parametrize("slender", [2.0, 4.0, 10.0])
def test_a_short_hole_is_near_lichtarowicz(slender, ideal):
    # Lichtarowicz, Duggins and Markland, J. Mech. Eng. Sci. 7, 1965, for square-edged holes of 2 to 10 diameters
    # length, from memory: 1/C = 1/Cu + 20/Re (1 + 2.25 L/d) - (0.005 L/d) / (1 + 7.5 (log10 0.00015 Re)^2),
    # Cu = 0.827 - 0.0085 L/d, Re of the ideal velocity. Measured, with some scatter: 8 %. Under Re 200 their fit leaves
    # Poiseuille's law (45 L/d for its 64 L/d), which is exact.
    bore, rho, mu = 0.001, 850.0, 0.02
    ultimate = 0.827 - 0.0085 * slender
    inverse = 1 / ultimate + 20 / ideal * (1 + 2.25 * slender)
    inverse -= 0.005 * slender / (1 + 7.5 * math.log10(0.00015 * ideal) ** 2)
    velocity = ideal * mu / (rho * bore)
    part = hole("hole", bore, slender * bore, ultimate, None)
    drop = drop_through(part, velocity * math.pi * bore**2 / 4 / inverse, rho, mu)
    assert drop == pytest.approx(rho * velocity**2 / 2, rel=0.08)


def test_cold_oil_through_a_hole_of_a_millimetre_is_no_orifice():
    # 1 mm, 2 mm long, oil of 870 kg/m3 and 0.3 Pa s, 1 cm3/s, by hand. By Sampson 0.3e-6 * 24e9 = 7 200 Pa, by
    # Poiseuille 0.3e-6 * 128 * 0.002 / (pi * 1e-12) = 24 446 Pa, by the orifice with C = 0.7 no more than 1 439 Pa.
    found = drop_through(hole("hole", 0.001, 0.002, 0.7, None), 1e-6, 870.0, 0.3)
    assert found == pytest.approx(7_200 + 24_446 + 1_439, rel=1e-4)
