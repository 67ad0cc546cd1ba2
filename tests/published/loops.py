"""Looped networks of E. Maurer, R package hydraulics, as circuits of numbers.

The source stops after three sweeps by Hardy Cross, and gives only the inputs of the two loops. So a second column
stands beside it: the same sweeps carried on until nothing changes, and the two loops by a root finder of scipy.
"""

import math

from nets import conditions, inertial, network, pipe, solved
from published.building import GRAVITY
from published.figures import Margin, Standing, laws, reynolds
from published.maurer import maurer

# Bore and length [m], fixed factor, the flow that the source prints for it, the converged one; the same by Colebrook's
# equation with 0.25 mm of roughness. The sign is that of the first loop that holds the pipe, clockwise.
TEN = {
    1: (0.30, 250.0, 0.01879, "0.0383", "0.03823", "0.0382", "0.03812"),
    2: (0.20, 100.0, 0.02075, "0.0383", "0.03823", "0.0382", "0.03812"),
    3: (0.20, 125.0, 0.02075, "0.0232", "0.02315", "0.0230", "0.02301"),
    4: (0.20, 125.0, 0.02075, "-0.0258", "-0.02565", "-0.0258", "-0.02567"),
    5: (0.20, 100.0, 0.02075, "-0.0417", "-0.04177", "-0.0418", "-0.04188"),
    6: (0.15, 100.0, 0.02233, "0.0090", "0.00880", "0.0088", "0.00868"),
    7: (0.25, 125.0, 0.01964, "0.0041", "0.00387", "0.0040", "0.00378"),
    8: (0.15, 100.0, 0.02233, "-0.0159", "-0.01613", "-0.0160", "-0.01622"),
    9: (0.15, 100.0, 0.02233, "0.0151", "0.01508", "0.0152", "0.01511"),
    10: (0.25, 125.0, 0.01964, "-0.0049", "-0.00492", "-0.0048", "-0.00489"),
}
A, B, C, D, E, F, G, H = range(8)
"""0.08 m3/s come in at A, top left; B top right; E, D, C in the middle, F, G, H below, each from the left."""
# Clockwise: A B C D E, E D G F, D C H G.
WAYS = {1: (A, B), 2: (B, C), 3: (C, D), 4: (D, E), 5: (E, A), 6: (D, G), 7: (G, F), 8: (F, E), 9: (C, H), 10: (H, G)}
OUT = {D: 0.04, F: 0.02, H: 0.02}


def head_law(factor, bore, length):
    """A pipe of a fixed factor."""
    return inertial(factor * length / bore / (2 * (math.pi * bore**2 / 4) ** 2))


def flows_of(edges):
    net = network(edges, {A})
    return solved(net, conditions(net, {A: 1e6}, taken=OUT, density=998.2, viscosity=1.002e-3), guess=0.01).flow[0]


def three_loops(example, flows, columns, *apart):
    """Both figures of each pipe; what three sweeps leave undone is most in pipe 7: 0.0041 m3/s and not 0.00387."""
    sweeps = Margin("three sweeps by Hardy Cross, which leave up to", amount=2.5e-4)
    for (number, row), flow in zip(TEN.items(), flows, strict=True):
        printed, settled = (row[column] for column in columns)
        yield example.figure(f"flow in pipe {number}", "m3/s", printed, flow, sweeps)
        yield example.figure(f"flow in pipe {number}, converged", "m3/s", settled, flow, *apart, standing=Standing.OURS)


def loops_of_fixed_factors():
    """Three loops of ten pipes, each with a factor that is given."""
    flows = flows_of([(*WAYS[n], head_law(f, bore, length)) for n, (bore, length, f, *_) in TEN.items()])
    yield from three_loops(maurer("three loops, fixed factors"), flows, (3, 4))


def loops_of_rough_pipes():
    """The same with 0.25 mm of roughness, water at 20 C."""
    flows = flows_of([(*WAYS[n], pipe(length, bore, 0.25e-3)) for n, (bore, length, *_) in TEN.items()])
    rough = [laws(reynolds(abs(float(row[5])), row[0], 1.004e-6), 0.25e-3 / row[0]) for row in TEN.values()]
    most = max(rough, key=lambda margin: margin.share)
    yield from three_loops(maurer("three loops, rough pipes"), flows, (5, 6), most)


def two_loops():
    """Two loops whose losses are K times the square of the flow: 0.5 m3/s from C to B."""
    a, b, c, d = range(4)
    edges = [(c, a, 200), (a, d, 2500), (c, d, 500), (a, b, 800), (d, b, 300)]
    net = network([(i, j, inertial(k * GRAVITY)) for i, j, k in edges], {c})
    flows = solved(net, conditions(net, {c: 1e7}, taken={b: 0.5}), guess=0.1).flow[0]
    names, answers = ("C-A", "A-D", "C-D", "A-B", "D-B"), ("0.27467", "0.06418", "0.22533", "0.21049", "0.28951")
    for name, printed, flow in zip(names, answers, flows, strict=True):
        yield maurer("two loops").figure(
            f"flow {name}",
            "m3/s",
            printed,
            flow,
            standing=Standing.OURS,
        )


CIRCUITS = (loops_of_fixed_factors, loops_of_rough_pipes, two_loops)
