"""The stretches of a string that have one tension each.

A pulley that takes a torque to turn ends a stretch; an ideal one doesn't. Takes a setting, gives
the stretches in the order of the strings and along them.
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fallwork.lesson.setting import Setting


@dataclass(frozen=True, kw_only=True)
class Stretch:
    """Part of a string. ``objects`` are those that it meets, both ends included."""

    string: str
    objects: tuple[str, ...]
    tension: float | None  # N; None where the apparatus doesn't determine it
    key: str  # lasting name, e.g. "tension.string" or "tension.string.1"


def stretches(setting: "Setting") -> tuple[Stretch, ...]:
    """All stretches of all strings."""
    return tuple(
        stretch for string in setting.apparatus.strings for stretch in _of_string(setting, string)
    )


def _of_string(setting: "Setting", string: str) -> list[Stretch]:
    rigging = setting.rigging
    path = rigging.strings[string].path
    spans = [rigging.spans[at] for at in rigging.strings[string].spans]
    pulls = setting.phase.segment_tensions[string]
    return [
        Stretch(
            string=string,
            objects=path[span.first : span.last + 2],
            tension=pulls[span.first],
            key=f"tension.{string}" if len(spans) == 1 else f"tension.{string}.{number}",
        )
        for number, span in enumerate(spans, start=1)
    ]
