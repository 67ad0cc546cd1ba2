"""Round pipes that flow part full: the usual table of hydraulic elements; a pipe of E. Maurer, R package hydraulics.

The table stands in every handbook of sewers, Manning's coefficient taken the same at every depth; its landmarks are
printed with two or three figures. The source of the pipe gives its inputs only, so its depth is a root of scipy.
"""

import numpy as np
from published.figures import Example, Standing
from published.maurer import maurer

from solver.partfull import by_manning, flow_at, normal_depth, segment

ELEMENTS = Example("handbooks of sewers", "any, hydraulic elements of a circular pipe", "constant n")
STEEP, ROUGH = np.array(0.001), 0.013


def hydraulic_elements():
    """Where a round pipe runs fastest, and where it carries most: looked for among ten thousand depths."""
    depth, bore = np.linspace(1e-4, 1.0, 10_001), np.array(0.2)
    flow = flow_at(depth, bore, STEEP, by_manning(ROUGH))
    velocity = flow / segment(depth)[0]
    yield ELEMENTS.figure("depth of the highest velocity", "-", "0.81", depth[velocity.argmax()])
    yield ELEMENTS.figure("highest velocity over that of the full pipe", "-", "1.14", velocity.max() / velocity[-1])
    yield ELEMENTS.figure("depth of the highest discharge", "-", "0.94", depth[flow.argmax()])


def a_sewer():
    """0.01 m3/s in 0.2 m at a slope of 0.001 and n 0.013."""
    depth = 0.2 * normal_depth(np.array([0.01]), np.array(0.2), STEEP, by_manning(ROUGH))[0]
    yield maurer("a sewer by Manning").figure("depth, by a root finder", "m", "0.1578", depth, standing=Standing.OURS)


CIRCUITS = (hydraulic_elements, a_sewer)
