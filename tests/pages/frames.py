"""Empty frames in place of drawings, which take most of a page's time, where words are looked at.

``frames.hang()`` puts them into this process; a test marked ``with_figures`` has the drawings.
"""

from fallwork.figures import Figure
from fallwork.lesson.document import FigureSlot
from fallwork.pages import worked


def framed(slot: FigureSlot, **_: object) -> Figure:
    name = "-".join(filter(None, (slot.kind, slot.subject, str(slot.phase or ""))))
    words = f"An empty frame in the place of a drawing: {name}."
    return Figure(id=name, title=name, description=words, caption=words, svg="<svg/>")


def hang() -> None:
    worked.draw = framed  # type: ignore[attr-defined]
