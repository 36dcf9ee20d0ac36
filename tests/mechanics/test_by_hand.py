"""Edges of the model, different rates, reasons, and what is left open: with answers by hand."""

from pathlib import Path

import pytest

from fallwork.mechanics import solve
from mechanics.answers import cases, missed
from mechanics.kit import STANDARD_GRAVITY
from mechanics.promises import every_complaint

CASES = cases(Path(__file__).with_name("by-hand.yaml"), STANDARD_GRAVITY)


@pytest.mark.parametrize("case", CASES)
def test_the_answer_by_hand_comes_out(case: str) -> None:
    set_up, expected = CASES[case]
    solution = solve(set_up)
    assert missed(set_up, solution, expected) == {}
    assert every_complaint(set_up, solution) == []
