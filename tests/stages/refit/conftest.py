"""What the tests of `refit` are given; the board beside this file is theirs to import."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
