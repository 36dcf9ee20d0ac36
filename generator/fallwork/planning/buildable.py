"""What the inventory can build of a set-up, on every bench at once.

Takes an inventory and a scenario; gives all sets of numbers, as arrays. A mass is a carrier with
pieces on it: of several ways to the same mass the one with the fewest pieces. Slopes, distances and
pushes are the settings that the inventory names; what the scenario has as zero, and friction, stay.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import cached_property
from math import prod
from typing import Any

import numpy as np

from fallwork.errors import FallworkError, said
from fallwork.measurement.model import Array
from fallwork.mechanics.algebra import Flags
from fallwork.scenario import Hanging, Pulley, Scenario, Slider
from fallwork.scenario.inventory import Carrier, Inventory, Piece, Steps, Wheel
from fallwork.scenario.quantity import Quantity, parse_quantity, written_like

MOST = 200_000  # sets of numbers that are looked at; of more a sample is drawn
_WAYS = 10_000  # masses that one thing can have; of more some are left out, evenly
_NEAR = 0.03  # standard deviation of what is drawn near something, as a share of all rows
_GRAIN = 1_000_000  # a mass counts in whole milligrams


class NotOwnedError(FallworkError):
    """A set-up for which the inventory lacks something."""

    def __init__(self, what: str, benches: int) -> None:
        super().__init__(said("planning", "not-owned", what=what, benches=benches))


@dataclass(frozen=True, kw_only=True)
class Choices:
    """What can be taken for one thing: each row gives numbers, and uses pieces up."""

    texts: Mapping[str, Sequence[str]]  # path -> the number as a file gives it, of each row
    values: Mapping[str, Array]  # path -> in SI, of each row
    uses: Mapping[str, Array]  # name of a piece -> how many, of each row

    def __len__(self) -> int:
        return len(next(iter(self.texts.values())))


@dataclass(frozen=True, kw_only=True)
class Candidates:
    """Sets of numbers for one set-up: in each a row of every choice, (n,)."""

    taken: Sequence[tuple[Choices, Any]]  # with the numbers of rows
    drawn: bool = False  # whether they are a sample

    def __len__(self) -> int:
        return len(self.taken[0][1])

    def at(self, some: Any) -> "Candidates":
        """Some of them, by numbers or flags."""
        return replace(self, taken=[(each, row[some]) for each, row in self.taken])

    @cached_property
    def values(self) -> dict[str, Array]:
        """Path -> values in SI, (n,)."""
        return {path: all_[row] for each, row in self.taken for path, all_ in each.values.items()}

    def fit(self, owned: Inventory) -> Flags:
        """Flags of those for which there are pieces enough for every bench."""
        fits = np.ones(len(self), dtype=bool)
        for kind in (owned.masses, owned.carts, owned.hangers, owned.pulleys):
            for name, piece in kind.items():
                used = sum(each.uses[name][row] for each, row in self.taken if name in each.uses)
                fits &= used <= owned.share(piece.count)
        return fits

    def nearest(self, values: Mapping[str, Any]) -> "Candidates":
        """The one, of all rows, that comes nearest to each of these numbers."""
        sizes = (
            [np.abs(all_ / values[p] - 1) for p, all_ in c.values.items()] for c, _ in self.taken
        )
        rows = [np.array([np.argmin(np.sum(each, axis=0))]) for each in sizes]
        taken = ((each, row) for (each, _), row in zip(self.taken, rows, strict=True))
        return replace(self, taken=[*taken])

    @property
    def pieces(self) -> Array:
        """How many pieces each takes."""
        used = (all_[row] for each, row in self.taken for all_ in each.uses.values())
        return np.asarray(np.sum(np.broadcast_arrays(np.zeros(len(self)), *used), axis=0))

    def built(self, at: int) -> dict[str, str]:
        """Path -> the pieces that one takes, in words: ``cart + 2 bar``."""
        return {
            path: " + ".join(
                f"{all_[row[at]]} {name}".removeprefix("1 ")
                for name, all_ in each.uses.items()
                if all_[row[at]]
            )
            for each, row in self.taken
            for path in each.values
        }

    def texts(self, at: int) -> dict[str, str]:
        """The numbers of one as a file gives them."""
        return {p: all_[row[at]] for each, row in self.taken for p, all_ in each.texts.items()}


def buildable(
    owned: Inventory,
    scenario: Scenario,
    seed: int,
    most: int = MOST,
    *,
    moves: bool = True,
    near: Candidates | None = None,
) -> Candidates:
    """All sets of numbers, or ``most`` of them drawn by a seed, if there are some to go by ``near``
    these; raises NotOwnedError. Where nothing ``moves``, the distance stays as it is.
    """
    choices = tuple(_choices(owned, scenario, moves))
    sizes = [len(each) for each in choices]
    random = np.random.default_rng(seed)
    if prod(sizes) <= most:
        rows = [each.ravel() for each in np.indices(sizes)]
    elif near is None:
        rows = [random.integers(0, size, most) for size in sizes]
    else:
        of = random.integers(0, len(near), most)
        far = [random.normal(0, _NEAR * size, most) for size in sizes]
        pairs = zip(near.taken, far, sizes, strict=True)
        drawn = [np.clip(row[of] + np.rint(way), 0, size - 1) for (_, row), way, size in pairs]
        rows = [*np.unique(np.array(drawn, dtype=int), axis=1)]
    found = Candidates(taken=[*zip(choices, rows, strict=True)], drawn=prod(sizes) > most)
    fits = found.fit(owned)
    if not fits.any():
        raise NotOwnedError(scenario.title, owned.benches)
    return found.at(fits)


def _choices(owned: Inventory, scenario: Scenario, moves: bool) -> Iterator[Choices]:
    """Of each thing of the scenario that has numbers to choose."""
    for name, thing in scenario.objects.items():
        if isinstance(thing, Slider | Hanging):
            kept = {**owned.carts, **owned.hangers}.items()
            carriers = {n: e for n, e in kept if e.kind == thing.kind}
            yield _masses(owned, f"{name}.mass", thing.kind, carriers)
        elif isinstance(thing, Pulley):
            yield from _pulleys(owned, name, thing)
    for name, surface in scenario.surfaces.items():
        sliders = (each for each in scenario.objects.values() if isinstance(each, Slider))
        kinds = {each.kind for each in sliders if each.runs_on == name}
        least = surface.length.value if surface.length else 0.0
        tracks = [t for t in owned.tracks.values() if {t.kind} >= kinds and t.length.value >= least]
        if not any(owned.share(t.count) for t in tracks):
            long = f" ≥ {q.number} {q.unit}" if (q := surface.length) else ""
            raise NotOwnedError(f"{' and '.join(sorted(kinds))} track{long}", owned.benches)
        if surface.slope.value:
            yield _settings(owned, f"{name}.slope", surface.slope, *(t.slopes for t in tracks))
    run = scenario.run
    if run.distance is not None and moves:
        yield _settings(owned, "run.distance", run.distance, owned.distances)
    if run.speed is not None and run.speed.value:
        yield _settings(owned, "run.start", run.speed, owned.pushes)


def _settings(owned: Inventory, path: str, own: Quantity, *ranges: Steps | None) -> Choices:
    """With the sign, the unit and the decimals of the scenario's own."""
    sign = "-" if own.value < 0 else ""
    settings = [f"{sign}{text}" for each in ranges if each for text in each.texts]
    if not settings:
        raise NotOwnedError(path, owned.benches)
    given = [parse_quantity(text, own.kind) for text in settings]
    texts = [written_like(each, own) for each in given]
    return Choices(
        texts={path: texts}, values={path: np.array([each.value for each in given])}, uses={}
    )


def _pulleys(owned: Inventory, name: str, pulley: Pulley) -> Iterator[Choices]:
    """Those of its kind with the numbers that it has; at least one for each bench."""

    def numbers(of: Pulley | Wheel) -> dict[str, Quantity]:
        return {f"{name}.{key}": q for key in ("mass", "radius") if (q := getattr(of, key))}

    paths, fit = [*numbers(pulley)], dict[str, dict[str, Quantity]]()
    for owns, wheel in owned.pulleys.items():
        alike = wheel.kind == pulley.kind and [*numbers(wheel)] == paths and not pulley.inertia
        if alike and owned.share(wheel.count):
            fit[owns] = numbers(wheel)
    if not fit:
        raise NotOwnedError(f"{name} (kind: {', '.join([pulley.kind, *paths])})", owned.benches)
    if paths:
        yield Choices(
            texts={p: [f"{row[p].number} {row[p].unit}" for row in fit.values()] for p in paths},
            values={p: np.array([row[p].value for row in fit.values()]) for p in paths},
            uses={n: np.array([n == other for other in fit], dtype=int) for n in fit},
        )


def _masses(owned: Inventory, path: str, kind: str, carriers: Mapping[str, Carrier]) -> Choices:
    """Every mass that carriers and pieces make, rising, with the fewest pieces."""
    found: list[Any] = []  # of each way: (mass, pieces, *uses) in columns
    names = [*carriers, *owned.masses]
    for name, carrier in carriers.items():
        if owned.share(carrier.count):
            loads = _loads(owned, carrier, names)
            found.append(loads + _row(names, name, _grains(carrier), pieces=0))
    if not found:
        raise NotOwnedError(f"{path} (kind: {kind})", owned.benches)
    ways = np.concatenate(found)
    ways = ways[np.lexsort((ways[:, 1], ways[:, 0]))]
    ways = ways[np.unique(ways[:, 0], return_index=True)[1]]
    pieces = (*carriers.values(), *owned.masses.values())
    places = max(len(each.mass.number.partition(".")[2]) for each in pieces)
    grams = [f"{Decimal(int(mg)) / 1000:.{max(places, 1)}f} g" for mg in ways[:, 0]]
    used = dict(zip(names, ways.T[2:], strict=True))
    return Choices(
        texts={path: grams},
        values={path: ways[:, 0] / _GRAIN},
        uses={name: each for name, each in used.items() if each.any()},
    )


def _loads(owned: Inventory, carrier: Carrier, names: Sequence[str]) -> Array:
    """What can be put on a carrier, piece by piece, as there are far more ways than masses."""
    found = np.zeros((1, 2 + len(names)), dtype=int)
    most = _GRAIN * carrier.most.value if carrier.most else np.inf
    for name in dict.fromkeys(carrier.carries):
        piece = owned.masses[name]
        one, before = _row(names, name, _grains(piece)), found
        for count in range(1, owned.share(piece.count) + 1):
            more = before + count * one
            found = np.concatenate([found, more[more[:, 0] <= most]])
            found = found[np.lexsort((*found.T[:1:-1], found[:, 1], found[:, 0]))]
            found = found[np.unique(found[:, 0], return_index=True)[1]]
            found = found[:: 1 + len(found) // _WAYS]
    return found


def _row(names: Sequence[str], name: str, grains: int, pieces: int = 1) -> Array:
    return np.array([grains, pieces, *(name == other for other in names)], dtype=int)


def _grains(piece: Piece) -> int:
    return round(piece.mass.value * _GRAIN)
