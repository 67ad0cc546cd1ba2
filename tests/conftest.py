"""Profiles of hypothesis, and the way to the strategies that several tests share."""

import os
import sys
from pathlib import Path

from hypothesis import settings

# No deadline: the first example of a test may load the unit library or scipy.
settings.register_profile("dev", deadline=None)
settings.register_profile("ci", deadline=None, derandomize=True, database=None, print_blob=True)
settings.load_profile("ci" if os.environ.get("CI") else "dev")

# Last, so that the folders here never hide the packages of the same names.
sys.path.append(str(Path(__file__).parent))
