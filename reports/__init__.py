"""What a person reads: the command, tables on the terminal, sheets, JSON.

Content modules build rows of texts and compute nothing; drawing modules draw them and know no physics.
"""
