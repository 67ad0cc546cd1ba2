"""Every circuit of the published examples: each is a function that builds and solves it and gives its figures."""

from published import crane_parts, crane_pipes, crane_pumps, loops, maurer, partfull, white

MODULES = (crane_pipes, crane_parts, crane_pumps, white, maurer, loops, partfull)
CIRCUITS = tuple(circuit for module in MODULES for circuit in module.CIRCUITS)
