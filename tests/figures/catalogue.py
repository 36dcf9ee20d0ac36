"""Every figure of every set-up in ``cases/``: what the tests of form go through."""

from dataclasses import dataclass
from functools import cache

from fallwork.figures import Figure
from figures.setups import Setup, load, names

CHARTS = ("motion", "tension-work", "energy-bars", "energy-position")


@dataclass(frozen=True)
class Entry:
    """One figure to draw."""

    case: str
    kind: str
    subject: str = ""
    to_scale: bool = True

    def __str__(self) -> str:
        scale = "" if self.to_scale else "not-to-scale"
        return " ".join(filter(None, (self.case, self.kind, self.subject, scale)))


@cache
def setup(case: str) -> Setup:
    """A set-up, loaded once."""
    return load(case)


@cache
def drawn(entry: Entry) -> Figure:
    """The figure, drawn once."""
    return setup(entry.case).draw(entry.kind, entry.subject, to_scale=entry.to_scale)


def entries() -> list[Entry]:
    """Sketches and diagrams of all, charts of what moves."""
    found = []
    for case in names():
        apparatus = setup(case).apparatus
        found.append(Entry(case, "sketch", to_scale=False))
        for name in (*apparatus.bodies, *apparatus.pulleys):
            found += [Entry(case, "diagram", name, scaled) for scaled in (False, True)]
        if setup(case).solution.moves:
            found += [Entry(case, kind) for kind in CHARTS]
    return found


ENTRIES = entries()
