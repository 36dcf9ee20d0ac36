"""Every figure that a lesson asks for can be drawn, whatever the set-up."""

from pathlib import Path

from fallwork.lesson.document import FigureSlot
from figures.setups import Setup
from lesson.kit import ZOO, everything, lesson_of, solved

FILES = sorted(ZOO.glob("*.yaml"))
SHARE = 5  # one set-up in so many, and the one whose block stays, in an everyday run


def test_every_figure_of_a_lesson_is_drawn(thorough: bool) -> None:
    for path in FILES if thorough else (*FILES[::SHARE], ZOO / "compound-stuck.yaml"):
        draw_all(path)


def draw_all(path: Path) -> None:
    scenario, apparatus, solution = solved(path)
    lesson = lesson_of(path, numbers=True)
    slots = {part for part in everything(lesson) if isinstance(part, FigureSlot)}
    setup = Setup(scenario, apparatus, solution, lesson)
    drawn = [setup.draw_slot(slot) for slot in slots]
    assert all(figure.svg.startswith("<svg") for figure in drawn), path
