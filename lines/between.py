"""What is known of a run between its two ports without its ends: their straight distance and their heights."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from lines.plan import Plan


def chord(plan: Plan, tag: str) -> float | None:
    """Straight distance from port to port [m]; a tape's span counts before the ports' places."""
    run = plan.runs[tag]
    if run.span is not None:
        return math.hypot(*run.span.vector)
    a, b = plan.port(run.start).at, plan.port(run.end).at
    return None if a is None or b is None else float(np.linalg.norm(np.subtract(b, a)))


def rise(plan: Plan, tag: str) -> float | None:
    """Height of the end over the start, the vehicle level [m]."""
    run = plan.runs[tag]
    start, end = plan.port(run.start).z, plan.port(run.end).z
    if start is not None and end is not None:
        return end - start
    return run.rise if run.span is None else run.span.vector[2]
