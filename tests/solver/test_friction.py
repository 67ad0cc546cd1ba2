"""Friction against a reference library, exact laws and Colebrook's equation."""

import fluids.friction
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from solver.friction import darcy_factor, friction_drop

# Flow [m3/s] for a Reynolds number in the pipe of `drop_at`.
PER_REYNOLDS = np.pi * 0.008 * 0.01 / (4 * 850.0)
REYNOLDS = [1e-3, 1.0, 50.0, 1e3, 2e3, 2.8e3, 4e3, 1e4, 1e5, 1e6, 1e7]
ROUGHNESS = [0.0, 1e-6, 1e-4, 1e-3, 0.01, 0.05]


def factor(reynolds, roughness=0.0, curvature=0.0):
    return float(darcy_factor(np.array([reynolds]), np.array([roughness]), np.array([curvature]))[0])


def drop_at(flow, *, length=2.0, bore=0.008, roughness=3e-6, density=850.0, viscosity=0.01, curvature=0.0):
    """Drop and slope of one pipe at one flow."""
    one = [np.array([x]) for x in (length, bore, roughness, curvature)]
    drop, slope = friction_drop(
        np.array([[flow]]),
        length=one[0],
        bore=one[1],
        roughness=one[2],
        density=np.array([[density]]),
        viscosity=np.array([[viscosity]]),
        curvature=one[3],
    )
    return float(drop[0, 0]), float(slope[0, 0])


# ---------------------------------------------------------------- the factor


@pytest.mark.parametrize("roughness", ROUGHNESS)
@pytest.mark.parametrize("reynolds", REYNOLDS)
def test_the_factor_is_that_of_churchill(reynolds, roughness):
    # The library codes the same paper (Chem. Eng. 84(24), 1977, pp. 91-92), so only rounding is left.
    assert factor(reynolds, roughness) == pytest.approx(fluids.friction.Churchill_1977(reynolds, roughness), rel=1e-12)


@pytest.mark.parametrize("roughness", ROUGHNESS)
@pytest.mark.parametrize("reynolds", [1e-3, 1.0, 100.0, 1000.0, 1500.0])
def test_slow_flow_is_laminar_whatever_the_wall(reynolds, roughness):
    # Hagen and Poiseuille: f = 64 / Re, exact. Churchill's blend adds nothing to it yet.
    assert factor(reynolds, roughness) == pytest.approx(64 / reynolds, rel=1e-4)


def test_at_the_end_of_laminar_flow_the_blend_hardly_shows():
    # At Re 2000, where flow in a pipe is still laminar, the critical regime adds 0.14 %.
    assert factor(2000.0) == pytest.approx(64 / 2000.0, rel=2e-3)


# Roots of Colebrook's equation, 1/sqrt(f) = -2 log10(e/(3.7 D) + 2.51/(Re sqrt(f))), as tabulated.
COLEBROOK = [
    (4e3, 0.0, 0.039907),
    (1e4, 0.0, 0.030883),
    (1e5, 0.0, 0.017990),
    (1e5, 1e-4, 0.018514),
    (1e6, 1e-3, 0.019943),
    (5e4, 0.005, 0.032175),
]


def colebrook(reynolds, roughness):
    def left(x):
        return x + 2 * np.log10(roughness / 3.7 + 2.51 * x / reynolds)

    return brentq(left, 1.0, 30.0) ** -2


@pytest.mark.parametrize(("reynolds", "roughness", "root"), COLEBROOK)
def test_fast_flow_is_near_colebrook(reynolds, roughness, root):
    # An explicit logarithm stands for Colebrook's implicit one; the paper states no error. Other comparisons find
    # up to some 3 %; at these points it is 1.8 % next to the critical regime and 1.2 % from Re 10 000 on.
    assert colebrook(reynolds, roughness) == pytest.approx(root, abs=6e-7)
    assert factor(reynolds, roughness) == pytest.approx(root, rel=0.018 if reynolds < 1e4 else 0.012)


@given(log_re=st.floats(4.0, 8.0), log_rough=st.floats(-6.0, -1.4))
def test_turbulent_flow_is_near_colebrook_everywhere(log_re, log_rough):
    # 2.5 % over the whole Moody chart: the most is at Re 10 000 on a rough wall.
    reynolds, roughness = 10**log_re, 10**log_rough
    assert factor(reynolds, roughness) == pytest.approx(colebrook(reynolds, roughness), rel=0.025)


def test_the_fully_rough_factor_is_that_of_nikuradse():
    # 1/sqrt(f) = 2 log10(3.7 D/e); Churchill writes 0.27 for 1/3.7 = 0.2703 and 2.457 for 2.4572: 0.1 %.
    for roughness in (1e-3, 1e-2, 0.05):
        rough = (2 * np.log10(3.7 / roughness)) ** -2
        assert factor(1e12, roughness) == pytest.approx(rough, rel=1e-3)


# ---------------------------------------------------------------- a curved bore

CURVES = [1e-3, 0.01, 0.03, 0.06, 0.1, 0.2, 0.3]


@pytest.mark.parametrize("curvature", CURVES)
@pytest.mark.parametrize("share", [1e-4, 0.003, 0.03, 0.2, 0.6])
def test_slow_flow_in_a_curve_is_that_of_white(share, curvature):
    # White 1929 as the library has it, up to 0.6 of the Reynolds number at which Schmidt (1967) ends laminar flow.
    # The blend adds less than 1e-4 to it there. The library says White measured curvatures to 0.066.
    reynolds = share * fluids.friction.helical_Re_crit(curvature, 1.0)
    white = fluids.friction.helical_laminar_fd_White(reynolds, curvature, 1.0)
    assert factor(reynolds, curvature=curvature) == pytest.approx(white, rel=1e-4)


@pytest.mark.parametrize("dean", [100.0, 300.0, 1000.0, 2000.0])
@pytest.mark.parametrize("curvature", [0.1, 0.2, 0.3])
def test_slow_flow_in_a_curve_is_near_mori_and_nakayama(dean, curvature):
    # Theirs is by theory for large Dean numbers (1965): from 100 to 2000 the two laws are within 7 % of each other.
    reynolds = dean / np.sqrt(curvature)
    other = fluids.friction.helical_laminar_fd_Mori_Nakayama(reynolds, curvature, 1.0)
    assert factor(reynolds, curvature=curvature) == pytest.approx(other, rel=0.07)


@pytest.mark.parametrize("curvature", CURVES)
def test_flow_in_a_curve_stays_laminar_as_long_as_schmidt_found(curvature):
    critical = fluids.friction.helical_Re_crit(curvature, 1.0)
    over = [
        factor(x * critical, curvature=curvature) / fluids.friction.helical_laminar_fd_White(x * critical, curvature, 1)
        for x in (0.75, 1.5)
    ]
    # 1 % below it is the blend's; half as much again above it the turbulent law is well over the laminar one.
    assert over[0] == pytest.approx(1.0, abs=0.01)
    assert over[1] > 1.15


@pytest.mark.parametrize("curvature", [1e-5, 1e-4, 3e-4, 1e-3])
def test_the_two_branches_of_a_curve_cross_where_schmidt_ends_laminar_flow(curvature):
    # Churchill's straight branches cross at Re 2242, (8 * 37530^2)^(1/3), where their 12th-power mean is 2^(1/12) of
    # either; the curved ones are to cross as much later as Schmidt's 2300 (1 + 8.6 (D/Dc)^0.45) is later than 2300.
    # Developed turbulent flow takes 0.4 % off that. Half a per cent in Re is another 0.6 %.
    crossing = (8 * 37530**2) ** (1 / 3) / 2300 * fluids.friction.helical_Re_crit(curvature, 1.0)
    white = fluids.friction.helical_laminar_fd_White(crossing, curvature, 1.0)
    assert factor(crossing, curvature=curvature) / white == pytest.approx(2 ** (1 / 12), rel=6e-3)


@pytest.mark.parametrize("roughness", [0.0, 1e-3, 0.02])
@pytest.mark.parametrize("curvature", CURVES)
def test_a_curve_adds_what_ito_measured(curvature, roughness):
    # Ito 1959: f = 0.304 Re^-0.25 + 0.029 sqrt(D/Dc), the first term being the straight pipe's. The blend: 1e-5.
    added = factor(2e5, roughness, curvature) - factor(2e5, roughness)
    assert added == pytest.approx(0.029 * np.sqrt(curvature), rel=1e-3)


@pytest.mark.parametrize("curvature", [1e-3, 0.003, 0.01, 0.03, 0.06, 0.1])
@pytest.mark.parametrize("reynolds", [2e4, 3e4, 5e4, 1e5])
def test_fast_flow_in_a_curve_is_near_other_laws(reynolds, curvature):
    # Mori and Nakayama (1967) and Schmidt (1967), who differ from each other by up to 11 % here: within 10 % and 5 %.
    found = factor(reynolds, curvature=curvature)
    assert found == pytest.approx(
        fluids.friction.helical_turbulent_fd_Mori_Nakayama(reynolds, curvature, 1.0), rel=0.105
    )
    assert found == pytest.approx(fluids.friction.helical_turbulent_fd_Schmidt(reynolds, curvature, 1.0), rel=0.05)


def test_a_curve_changes_nothing_beside_it():
    # A straight bore costs the same to the last digit whether a curved one is reckoned with it or not.
    reynolds = np.logspace(-3, 8, 200)
    alone = darcy_factor(reynolds, np.full(200, 1e-3))
    beside = darcy_factor(np.stack([reynolds, reynolds]), np.full((2, 1), 1e-3), np.array([[0.0], [0.1]]))
    assert (beside[0] == alone).all()


def test_the_slope_has_no_step_where_the_curve_begins_to_tell():
    # White's law begins at De 11.6.
    start = 11.6 / np.sqrt(0.1) * PER_REYNOLDS
    below, above = (drop_at(start * (1 + x), curvature=0.1) for x in (-1e-9, 1e-9))
    assert above == pytest.approx(below, rel=1e-8)
    assert drop_at(start * 1.5, curvature=0.1)[1] > 1.05 * drop_at(start * 1.5)[1]


# ---------------------------------------------------------------- the drop and its slope

walls = st.fixed_dictionaries(
    {
        "roughness": st.one_of(st.just(0.0), st.floats(0.0, 0.05 * 0.008)),
        "curvature": st.one_of(st.just(0.0), st.floats(0.0, 0.3)),
    }
)


@given(log_re=st.floats(-3.0, 8.0), backwards=st.booleans(), wall=walls)
def test_the_slope_is_the_derivative_of_the_drop(log_re, backwards, wall):
    flow = 10**log_re * PER_REYNOLDS * (-1 if backwards else 1)
    step = 1e-5 * flow
    high, low = (drop_at(flow + s, **wall)[0] for s in (step, -step))
    # The central difference is off by some (1e-5)^2 of the third derivative, which in the transition is large, and by
    # 1e-16 / 1e-5 of rounding.
    assert drop_at(flow, **wall)[1] == pytest.approx((high - low) / (2 * step), rel=1e-6)


@given(log_re=st.floats(-3.0, 8.0), factor_up=st.floats(1.0001, 100.0), wall=walls)
def test_more_flow_always_drops_more(log_re, factor_up, wall):
    flow = 10**log_re * PER_REYNOLDS
    assert drop_at(flow * factor_up, **wall)[0] > drop_at(flow, **wall)[0] > 0


@pytest.mark.parametrize("curvature", [0.0, 1e-12, 0.1, 1.0])
@pytest.mark.parametrize("roughness", [0.0, 4e-4, 0.008])
def test_absurd_flows_have_a_drop_and_a_slope(roughness, curvature):
    # Newton's method may pass through any flow; a warning is an error here.
    flows = np.logspace(-300, 100, 401) * PER_REYNOLDS
    found = [drop_at(flow, roughness=roughness, curvature=curvature) for flow in flows]
    drops, slopes = np.array(found).T
    assert np.isfinite(drops).all()
    assert np.isfinite(slopes).all()
    assert (np.diff(drops) > 0).all()
    assert (slopes > 0).all()


@given(flow=st.floats(1e-12, 1e-2))
def test_flow_the_other_way_drops_the_other_way(flow):
    forward, slope = drop_at(flow)
    assert drop_at(-flow) == (-forward, slope)


@pytest.mark.parametrize("flow", [0.0, 1e-300, 1e-18, -1e-18])
def test_at_no_flow_the_slope_is_that_of_hagen_and_poiseuille(flow):
    drop, slope = drop_at(flow)
    assert slope == pytest.approx(128 * 0.01 * 2.0 / (np.pi * 0.008**4), rel=1e-9)
    assert drop == pytest.approx(slope * flow)


@given(scale=st.floats(0.01, 100.0), flow=st.floats(1e-9, 1e-2))
def test_the_drop_grows_in_proportion_to_the_length(scale, flow):
    assert drop_at(flow, length=2.0 * scale)[0] == pytest.approx(scale * drop_at(flow)[0], rel=1e-12)


@given(flow=st.floats(1e-9, 1e-2), wider=st.floats(1.001, 3.0))
def test_a_wider_bore_drops_less(flow, wider):
    assert drop_at(flow, bore=0.008 * wider)[0] < drop_at(flow)[0]


@given(
    reynolds=st.floats(1.0, 1e6),
    bore=st.floats(0.002, 0.1),
    density=st.floats(600.0, 1200.0),
    viscosity=st.floats(2e-4, 1.0),
)
def test_the_drop_has_the_dimensions_of_darcy_and_weisbach(reynolds, bore, density, viscosity):
    # dp = f (L/D) rho v^2 / 2 with f of Re and e/D alone, whatever the bore, density and viscosity.
    velocity = reynolds * viscosity / (density * bore)
    flow = velocity * np.pi * bore**2 / 4
    found = drop_at(flow, bore=bore, roughness=1e-3 * bore, density=density, viscosity=viscosity)[0]
    f = fluids.friction.Churchill_1977(reynolds, 1e-3)
    assert found == pytest.approx(f * (2.0 / bore) * density * velocity**2 / 2, rel=1e-8)


def test_every_pipe_and_every_point_of_a_batch_stands_alone():
    flow = np.array([[1e-6, 1e-4, -2e-4], [0.0, 3e-5, 1e-3]])
    length, bore, rough = np.array([1.0, 2.0, 3.0]), np.array([0.005, 0.008, 0.01]), np.array([0, 3e-6, 1e-4])
    density, viscosity = np.array([[850.0], [746.0]]), np.array([[0.01], [0.0004]])
    curve = np.array([0.0, 0.1, 0.3])
    drop, slope = friction_drop(
        flow, length=length, bore=bore, roughness=rough, density=density, viscosity=viscosity, curvature=curve
    )
    assert drop.shape == slope.shape == (2, 3)
    for row in range(2):
        for i in range(3):
            alone = drop_at(
                flow[row, i],
                length=length[i],
                bore=bore[i],
                roughness=rough[i],
                density=density[row, 0],
                viscosity=viscosity[row, 0],
                curvature=curve[i],
            )
            assert (drop[row, i], slope[row, i]) == pytest.approx(alone, rel=1e-12)


def test_a_long_batch_is_that_of_its_rows():
    # It is worked on in blocks of rows, of which the last is shorter.
    flow = np.linspace(-1e-3, 1e-3, 3 * 7001).reshape(7001, 3)
    pipes = {
        "length": np.array([1.0, 2.0, 3.0]),
        "bore": np.array([0.005, 0.008, 0.01]),
        "roughness": np.array([0, 3e-6, 1e-4]),
        "curvature": np.array([0.0, 0.05, 0.1]),
    }
    density, viscosity = np.linspace(700, 900, 7001)[:, None], np.geomspace(4e-4, 0.5, 7001)[:, None]
    drop, slope = friction_drop(flow, density=density, viscosity=viscosity, **pipes)
    for row in (0, 2729, 2730, 2731, 7000):
        one = [row]
        alone = friction_drop(flow[one], density=density[one], viscosity=viscosity[one], **pipes)
        assert (alone[0] == drop[one]).all()
        assert (alone[1] == slope[one]).all()
