"""The stretches of a string that have one tension each.

A pulley that takes a torque to turn ends a stretch; an ideal one doesn't. Takes a setting, gives
the stretches in the order of the strings and along them.
"""

from dataclasses import dataclass

from fallwork.lesson.lab.setup import Setup


@dataclass(frozen=True, kw_only=True)
class Stretch:
    """Part of a string. ``objects`` are those that it meets, both ends included."""

    string: str
    objects: tuple[str, ...]
    tension: float | None  # N; None where the apparatus doesn't determine it
    key: str  # lasting name, e.g. "tension.string" or "tension.string.1"


def stretches(lab: Setup) -> tuple[Stretch, ...]:
    """All stretches of all strings."""
    return tuple(stretch for string in lab.apparatus.strings for stretch in _of_string(lab, string))


def _of_string(lab: Setup, string: str) -> list[Stretch]:
    rigging = lab.rigging
    path = rigging.strings[string].path
    spans = [rigging.spans[at] for at in rigging.strings[string].spans]
    pulls = lab.phase.segment_tensions[string]
    return [
        Stretch(
            string=string,
            objects=path[span.first : span.last + 2],
            tension=pulls[span.first],
            key=f"tension.{string}" if len(spans) == 1 else f"tension.{string}.{number}",
        )
        for number, span in enumerate(spans, start=1)
    ]
