"""Level tracks, inclines, pulleys, pushes and falls against published numbers (motion.yaml)."""

from pathlib import Path

import pytest

from fallwork.mechanics import solve
from mechanics.answers import cases, missed

G = 9.80
CASES = cases(Path(__file__).with_name("motion.yaml"), G)


@pytest.mark.parametrize("source", CASES)
def test_the_published_number_comes_out(source: str) -> None:
    set_up, expected = CASES[source]
    assert missed(set_up, solve(set_up), expected) == {}
