"""What inventory.yaml says: what the lab owns, how many of each, and for how many benches at once.

Masses are nominal: what a bench weighs in the end is its own.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from functools import partial
from typing import Annotated

from fallwork.scenario.model import SLIDERS
from fallwork.scenario.quantity import Given, Quantity, parse_quantity
from fallwork.scenario.records import Key, Record, items, named
from fallwork.scenario.report import Report, unknown
from fallwork.scenario.shapes import Reading, choice, measure, text, whole
from fallwork.scenario.tree import Keys, Node

MOST = 10_000  # pieces of a kind
MOST_STEPS = 1000  # settings of one thing
PULLEYS = ("pulley", "moving pulley")
_COUNT = whole("a number of pieces", 1, MOST)
_CARRIES = items("the masses that it carries", "[bar, disc-20]", text("a name", "bar"))


@dataclass(frozen=True, kw_only=True)
class Steps:
    """What can be set, from one value to another in equal steps."""

    low: Annotated[Quantity, Key(measure("length"), key="from")]
    high: Annotated[Quantity, Key(measure("length"), key="to")]
    step: Annotated[Quantity, measure("length")]

    @property
    def texts(self) -> list[str]:
        """Every setting, as a file gives it; all three have one unit."""
        first, last, step = (Decimal(each.number) for each in (self.low, self.high, self.step))
        count = int((last - first) / step) if step > 0 and last >= first else 0
        return [f"{first + at * step:f} {self.low.unit}" for at in range(count + 1)]


def _steps(kind: str) -> Record:
    shapes = dict.fromkeys(("from", "to", "step"), measure(kind))
    return Record("a range of settings", Steps, shapes=shapes)


@dataclass(frozen=True, kw_only=True)
class Piece:
    """A mass that can be added."""

    mass: Annotated[Quantity, measure("mass")]
    count: Annotated[int, _COUNT]


@dataclass(frozen=True, kw_only=True)
class Carrier(Piece):
    """A cart, a glider, a block or a hanger, with what can be put on it."""

    kind: Annotated[str, choice(SLIDERS, "a kind")] = "hanging"
    carries: Annotated[tuple[str, ...], _CARRIES] = ()
    most: Annotated[Given, measure("mass")] = None  # added at most


@dataclass(frozen=True, kw_only=True)
class Track:
    """A track or board, with the slopes that it can be given beside level."""

    kind: Annotated[str, choice(SLIDERS, "a kind")]  # of what runs on it
    count: Annotated[int, _COUNT]
    length: Annotated[Quantity, measure("length")]
    slopes: Annotated[Steps | None, _steps("slope")] = None


@dataclass(frozen=True, kw_only=True)
class Wheel:
    """A pulley; one without a mass is light enough to leave it out."""

    kind: Annotated[str, choice(PULLEYS, "a kind")] = "pulley"
    count: Annotated[int, _COUNT]
    mass: Annotated[Given, measure("mass")] = None
    radius: Annotated[Given, measure("length")] = None


@dataclass(frozen=True, kw_only=True)
class SensorsOwned:
    """A motion sensor and a force sensor for each bench; by default as is common practice."""

    rate: Annotated[float, whole("readings a second", 5, 2000)] = 50
    near: Annotated[Quantity, measure("length")] = parse_quantity("0.15 m", "length")  # of motion
    far: Annotated[Quantity, measure("length")] = parse_quantity("2.5 m", "length")
    resolution: Annotated[Quantity, measure("newtons")] = parse_quantity("0.01 N", "force")
    range: Annotated[Quantity, measure("newtons")] = parse_quantity("10 N", "force")
    count: Annotated[int, _COUNT] = MOST


_CARTS = named("the name", "a cart", Record("a cart", Carrier))
_HANGER = Record("a hanger", Carrier, partial(Carrier, kind="hanging"), without="kind")
_HANGERS, _MASSES = (
    named("the name", each.what, each) for each in (_HANGER, Record("a mass", Piece))
)
_TRACKS = named("the name", "a track", Record("a track", Track))
_PULLEYS = named("the name", "a pulley", Record("a pulley", Wheel))
_SENSORS = Record("the sensors", SensorsOwned)


@dataclass(frozen=True, kw_only=True)
class Inventory:
    """inventory.yaml."""

    benches: Annotated[int, whole("the number of benches", 1, 1000, 1)]
    carts: Annotated[Mapping[str, Carrier], _CARTS] = field(default_factory=dict)
    hangers: Annotated[Mapping[str, Carrier], _HANGERS] = field(default_factory=dict)
    masses: Annotated[Mapping[str, Piece], _MASSES] = field(default_factory=dict)
    tracks: Annotated[Mapping[str, Track], _TRACKS] = field(default_factory=dict)
    pulleys: Annotated[Mapping[str, Wheel], _PULLEYS] = field(default_factory=dict)
    sensors: Annotated[SensorsOwned, _SENSORS] = SensorsOwned()
    distances: Annotated[Steps | None, _steps("length")] = None
    pushes: Annotated[Steps | None, _steps("push")] = None

    def share(self, count: int) -> int:
        """How many of so many pieces each bench has."""
        return count // self.benches


INVENTORY = Record("an inventory", Inventory)


def read_inventory(node: Node, _: str, report: Report) -> Inventory | None:
    """What a tree gives, after noting settings that lead nowhere and masses that nobody owns."""
    reading = Reading(report=report)
    found: Inventory | None = INVENTORY.read(node, (), reading)
    if found is None:
        return None
    for key in ("carts", "hangers"):
        for name, each in getattr(found, key).items():
            for at, mass in enumerate(each.carries if each else ()):
                if mass and mass not in found.masses:
                    words = unknown("mass", mass, [*found.masses])
                    reading.refuse((key, name, "carries", str(at)), "unknown", **words)
    ranges: dict[Keys, Steps | None]
    ranges = {("distances",): found.distances, ("pushes",): found.pushes}
    ranges |= {("tracks", n, "slopes"): t.slopes for n, t in found.tracks.items() if t}
    for path, said in ranges.items():
        if said and not _leads_on(said.low, said.high, said.step):
            reading.refuse(path, "settings")
    return found


def _leads_on(*said: Quantity) -> bool:
    """Whether there are settings from one to another, or they can't be read, which was told."""
    (low, high, step), units = (each.value for each in said), {each.unit for each in said}
    few = step > 0 and 0 <= (high - low) / step < MOST_STEPS
    return not all(each.number for each in said) or (few and len(units) == 1)
