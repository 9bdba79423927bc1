"""What several stages' tests are given; the panels and the browser beside this file are theirs to import."""

import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from underdraw.plugins.registry import Registry

sys.path.insert(0, str(Path(__file__).parent))
from underdraw.testing.trial import TrialContext


@pytest.fixture(scope="session")
def installed() -> Registry:
    """Every part that is installed."""
    return Registry.installed()


@pytest.fixture
def bench(installed: Registry) -> Iterator[TrialContext]:
    """What the host gives a stage, which may not say that it is further than at its end."""
    context = TrialContext(installed)
    yield context
    assert all(0 <= share <= 1 for share in context.shares)
