"""A circuit of gas: mean density in each edge, against the isothermal flow of a gas, and where it is refused."""

import fluids.compressible
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from nets import conditions, inertial, network, pipe, viscous
from writing import line, read, run, tube

from catalogs.bounds import STANDARD_ATMOSPHERE as ATMOSPHERE
from solver.gas import MOST_DROP, solve_gas, too_far
from solver.solution import Solution, solve_plan

RHO, MU = 1.2046, 1.821e-5  # air of 20 C at one atmosphere: CoolProp 8.0.0


def along(pipes, before, after):
    """The state and batch of edges in a row between two pressures."""
    net = network([(i, i + 1, part) for i, part in enumerate(pipes)], {0, len(pipes)})
    batch = conditions(net, {0: before, len(pipes): after}, density=RHO, viscosity=MU)
    return net, *solve_gas(net, batch, np.full(net.edges, 1e-4))


def test_laminar_flow_of_a_gas():
    # p1^2 - p2^2 = 256 mu L p q / (pi D^4), with p q the same all along: exact for an isothermal gas, and the mean
    # density's law is the same equation.
    bore, length = 0.001, 2.0
    before, after = 1.05e5, 1.0e5
    _, state, _ = along([pipe(length, bore)], before, after)
    expected = (before**2 - after**2) * np.pi * bore**4 / (256 * MU * length) / ATMOSPHERE
    assert 4 * state.flow[0, 0] * RHO / (np.pi * bore * MU) < 400
    assert state.flow[0, 0] == pytest.approx(expected, rel=1e-6)


@given(share=st.floats(0.005, 0.095), bore=st.floats(0.004, 0.03), length=st.floats(0.5, 10.0))
def test_turbulent_flow_of_a_gas(share, bore, length):
    # Crane TP-410 equation 1-6, complete isothermal, as `fluids` has it, with the density before the pipe: it also
    # gives the gas its speed, which is 2 ln(p1/p2) on f L / D, half of that on the flow.
    before, after = ATMOSPHERE / (1 - share), ATMOSPHERE
    _, state, _ = along([pipe(length, bore, 1e-5)], before, after)
    mass = state.flow[0, 0] * RHO
    reynolds = 4 * mass / (np.pi * bore * MU)
    factor = fluids.friction.Churchill_1977(reynolds, 1e-5 / bore)
    theirs = fluids.compressible.isothermal_gas(
        rho=RHO * before / ATMOSPHERE, fd=factor, P1=before, P2=after, L=length, D=bore
    )
    speed_up = np.log(before / after) / (factor * length / bore)
    assert theirs * (1 - 1e-6) <= mass <= theirs * (1 + speed_up + 1e-6)


@given(st.lists(st.tuples(st.floats(0.2, 3.0), st.floats(0.005, 0.03)), min_size=2, max_size=6))
def test_the_mass_of_a_gas_is_kept_along_the_way(sizes):
    net, state, batch = along([pipe(length, bore, 1e-6) for length, bore in sizes], 1.06e5, 1.0e5)
    volume = state.flow[0] * batch.density[0] / RHO
    density = RHO**2 / batch.density[0]
    assert volume * density == pytest.approx(np.full(net.edges, state.flow[0, 0] * RHO), rel=1e-6)
    # And the density is that of its own mean pressure, by the law of Boyle and Mariotte.
    means = (state.pressure[0, :-1] + state.pressure[0, 1:]) / 2
    assert density == pytest.approx(RHO * means / ATMOSPHERE, rel=1e-7)


def test_a_loss_is_taken_at_the_density_that_is_there():
    # 2 bar absolute and little drop: twice the mass for the same drop is 2^0.5 times.
    flow = [along([inertial(1e7)], p + 500.0, p)[1].flow[0, 0] for p in (ATMOSPHERE, 2 * ATMOSPHERE)]
    assert flow[1] / flow[0] == pytest.approx(2**0.5, rel=2e-3)


def test_a_drop_of_more_than_a_tenth_is_told():
    for share, far in ((MOST_DROP - 0.001, False), (MOST_DROP + 0.001, True)):
        net, state, _ = along([viscous(1e12)], 2e5, 2e5 * (1 - share))
        assert too_far(net, state).tolist() == [[far]]


def breather(folder, *, altitude="0 m", pressure="0.4 psi", bore="10 mm"):
    """A crankcase's worth of air from a source through a hose to the open air."""
    plan = read(
        folder,
        plan={"ambient": {"temperature": "20 C", "altitude": altitude}},
        circuits={"line": {"fluid": "air", "temperature": "20 C"}},
        components={"near": {"kind": "source", "pressure": pressure}, "far": {"kind": "open"}},
        stock={"pipe": tube(bore)},
        runs={"V1": run("near.out", "far.in", "pipe", length="1 m", length_is="overall", rise="0.5 m")},
    )
    return solve_plan(plan)["line"]


def test_at_altitude_a_gas_is_thinner(tmp_path):
    # ISO 2533: 84 560 Pa at 1500 m. The density is that of 20 C at the mean of the two ends.
    found = breather(tmp_path, altitude="1500 m")
    assert isinstance(found, Solution)
    assert found.total("far.end")[0] == pytest.approx(84_560, abs=5)
    mean = float((found.total("near.out") + found.total("far.in"))[0]) / 2
    assert found.density("V1")[0] == pytest.approx(1.2046 * mean / ATMOSPHERE, rel=1e-4)
    assert found.reasons == {}
    assert any("weight of the gas" in said for said in found.model.estimates)


def test_a_gas_that_falls_by_more_than_a_tenth_has_no_answer_and_the_run_is_named(tmp_path):
    found = breather(tmp_path, pressure="3 psi")
    assert "V1" in found.reasons["steady"]
    assert "tenth of its pressure" in found.reasons["steady"]
    assert np.isnan(found.flow("V1")).all()


def test_what_a_plan_says_of_a_gas_is_at_ambient_pressure(tmp_path):
    # 60 L/min measured at 1500 m go out into the same air as 60 L/min.
    plan = read(
        tmp_path,
        plan={"ambient": {"temperature": "20 C", "altitude": "1500 m"}},
        circuits={"line": {"fluid": "air", "temperature": "20 C"}},
        components={"crankcase": {"kind": "draw", "flow": "-60 L/min"}, "far": {"kind": "open"}},
        stock={"pipe": tube("19 mm", outside="25 mm")},
        runs={"V1": run("crankcase.in", "far.in", "pipe", length="1 m", length_is="overall", rise="0 m")},
    )
    assert line(plan).flow("V1")[0] * 60_000 == pytest.approx(60, rel=1e-3)


def test_a_pump_of_gas_is_refused_by_name(tmp_path):
    plan = read(
        tmp_path,
        circuits={"line": {"fluid": "air", "temperature": "20 C"}},
        components={
            "near": {"kind": "open"},
            "vacuum_pump": {"kind": "pump", "curve": "electric-small", "volts": "12 V"},
            "far": {"kind": "open"},
        },
        stock={"pipe": tube("8 mm")},
        runs={
            tag: run(*ends, "pipe", length="1 m", length_is="overall", rise="0 m")
            for tag, ends in {"P1": ("near.in", "vacuum_pump.in"), "P2": ("vacuum_pump.out", "far.in")}.items()
        },
    )
    assert "vacuum_pump would pump a gas" in solve_plan(plan)["line"].error.reason
