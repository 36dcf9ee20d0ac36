"""Fixtures of the measurement stage."""

from collections.abc import Callable

import pytest

from fallwork.scenario import Scenario
from measurement import kit


@pytest.fixture
def level(tmp_path) -> Callable[..., Scenario]:
    """Makes the usual level track with other numbers."""
    return lambda **numbers: kit.level_track(tmp_path, **numbers)
