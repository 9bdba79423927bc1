"""What several stages' tests are given; the panels and the browser beside this file are theirs to import."""

import sys
from pathlib import Path

import pytest

from underdraw.registry import Registry

sys.path.insert(0, str(Path(__file__).parent))
from garden_panels import Bench


@pytest.fixture(scope="session")
def installed() -> Registry:
    """Every part that is installed."""
    return Registry.installed()


@pytest.fixture
def bench(installed: Registry) -> Bench:
    """What the host gives a stage."""
    return Bench(installed)
