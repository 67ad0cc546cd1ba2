"""The plan: circuits as graphs of runs and components, paths in space, assemblies, the record of a finding.

Knows catalogs; knows nothing of physics or paper.
"""
