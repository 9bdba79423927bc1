"""What every test starts from."""

import os
import sys
from pathlib import Path

# Tests start some hundred commands: each would compile the whole code anew where the environment forbids keeping it,
# and each process of pytest all tests.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
sys.dont_write_bytecode = False

sys.path.insert(0, str(Path(__file__).parent))  # what the tests of every folder may import
