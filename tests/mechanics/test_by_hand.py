"""Edges of the model, different rates, reasons, and what is left open, with answers by hand; and
published numbers of level tracks, inclines, pulleys, pushes and falls (``published/motion.yaml``).
"""

from pathlib import Path

import pytest

from fallwork.mechanics import ImpossibleApparatus, solve
from mechanics.answers import cases, missed
from mechanics.kit import STANDARD_GRAVITY
from mechanics.promises import every_complaint

HERE = Path(__file__).parent
CASES = cases(HERE / "by-hand.yaml", STANDARD_GRAVITY)
CASES |= cases(HERE.parent / "published/motion.yaml", 9.80)


@pytest.mark.parametrize("case", CASES)
def test_the_answer_by_hand_comes_out(case: str) -> None:
    set_up, expected = CASES[case]
    if "refused" in expected:  # what only the solver finds out
        with pytest.raises(ImpossibleApparatus) as refused:
            solve(set_up)
        assert [str(refused.value)] == expected["refused"]
        return
    solution = solve(set_up)
    assert missed(set_up, solution, expected) == {}
    assert every_complaint(set_up, solution) == []
