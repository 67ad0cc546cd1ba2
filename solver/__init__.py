"""The physics: from a plan and its duties to flows, pressures, fall and verdicts.

Plain numpy arrays in SI; the first axis is the batch (duties, attitudes, samples). Knows catalogs and lines;
knows nothing of paper.
"""
