"""Every circuit of the published examples: each is a function that builds and solves it and gives its figures."""

from published import crane_parts, crane_pipes, crane_pumps, loops, maurer, white

CIRCUITS = tuple(
    circuit for module in (crane_pipes, crane_parts, crane_pumps, white, maurer, loops) for circuit in module.CIRCUITS
)
