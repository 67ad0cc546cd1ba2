"""What can be bought and what flows: tables, their records, their one reader; units and errors.

The lowest of the four packages. It knows nothing of plans, physics or paper.
"""
