"""Pages without what takes nearly all of their time: drawings and the uncertainties of results.

``hang()`` does it in this process. A test marked ``drawn`` has the drawings, one marked ``in_full``
both.
"""

from collections.abc import Mapping

from fallwork.figures import Figure, Scene
from fallwork.lesson import build
from fallwork.pages import worked


def framed(scene: Scene) -> Figure:
    slot = scene.slot
    name = "-".join(filter(None, (slot.kind, slot.subject, str(slot.phase or ""))))
    words = f"An empty frame in the place of a drawing: {name}."
    return Figure(id=name, title=name, description=words, caption=words, svg="<svg/>")


def nothing_known(*_: object, **__: object) -> Mapping[str, float]:
    return {}


def hang() -> None:
    worked.draw = framed  # type: ignore[attr-defined]
    build.uncertainties = nothing_known  # type: ignore[attr-defined]
