"""Every figure that a lesson asks for can be drawn, whatever the set-up."""

from pathlib import Path

import pytest

from fallwork.lesson.document import FigureSlot
from figures.setups import Setup
from lesson.kit import ZOO, everything, lesson_of, solved


@pytest.mark.parametrize("path", sorted(ZOO.glob("*.yaml")), ids=lambda path: path.stem)
def test_every_figure_of_a_lesson_is_drawn(path: Path) -> None:
    scenario, apparatus, solution = solved(path)
    lesson = lesson_of(path, numbers=True)
    slots = {part for part in everything(lesson) if isinstance(part, FigureSlot)}
    setup = Setup(scenario, apparatus, solution, lesson)
    drawn = [setup.draw_slot(slot) for slot in slots]
    assert all(figure.svg.startswith("<svg") for figure in drawn)
