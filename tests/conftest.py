"""What every test starts from."""

import os

# Tests start some hundred commands: each would compile the whole code anew where the environment forbids keeping it.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
