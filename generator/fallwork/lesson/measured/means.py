"""What can't be judged of a lab's trials, and means that are over others than the rest: sentences
for whoever enters them.
"""

from collections.abc import Iterator

from fallwork.lesson.measured.evidence import Evidence
from fallwork.lesson.measured.words import quantity_words
from fallwork.lesson.words import listing, say
from fallwork.measurement import Analysis


def on_means(evidence: Evidence) -> Iterator[str]:
    """What can't be judged, and what to record so that it can be; and means over other trials."""
    lists: dict[str, list[str]] = {}
    for each in evidence.analysis.summary.values():
        single = any(each.quantity in trial.estimates for trial in evidence.analysis.counted)
        if each.u is None:
            key = "unscattered-one" if each.n == 1 else "unscattered-alike" if single else ""
            words = f"the {quantity_words(each.quantity)}"
            lists.setdefault(key or "unscattered", []).append(words)
    for key, names in lists.items():
        yield _say(key, list=listing(names))
    counted = str(len(evidence.analysis.counted))
    for quantity, n in over_others(evidence.analysis).items():
        yield _say("over-others", quantity=quantity_words(quantity), n=str(n), counted=counted)


def over_others(analysis: Analysis) -> dict[str, int]:
    """The number of trials of each mean that can't be over those that count beside it."""
    counted = analysis.counted
    known = {q: each.n or 0 for q, each in analysis.summary.items() if (each.n or 1) > 1}
    return {
        q: n
        for q, n in known.items()
        if counted and n != len(counted) and not any(q in trial.estimates for trial in counted)
    }


def _say(key: str, **parts: str) -> str:
    return say(f"quality.{key}", "reviewing", **parts)
