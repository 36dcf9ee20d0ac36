"""Chooses the numbers of a worked example so that it gives no answer of the lab away.

Takes a lab and the local gravity; gives the example as a complete scenario. The same lab always
gets the same example. Choosing looks at the lab's own results, and tells no more about them than
that the example's aren't among them.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal

from fallwork.errors import BadInput, FallworkError, Place
from fallwork.mechanics import ImpossibleApparatus
from fallwork.mechanics.course import gravity_of
from fallwork.planning.results import Result, alike, results_of
from fallwork.scenario import (
    CourseData,
    Frozen,
    Hanging,
    Lab,
    Quantity,
    Scenario,
    Slider,
    numbers_of,
    with_numbers,
)

_TRIES = 500
_SMALLEST, _LARGEST = 0.6, 1.6  # a number of the example over that of the lab
_NEAR = 0.08  # relative; closer than that a number would look like the lab's
_NOISE = 1e-12  # SI; what sums of floats leave of a zero
_GOLDEN = (0.6180339887, 0.7548776662, 0.8191725134, 0.8566748838, 0.8812714616)
# ^ steps of an evenly spread sequence for up to so many numbers at once (from memory: the
#   reciprocal roots of x^(d+1) = x + 1 for d = 1 … 5)


@dataclass(eq=False)
class NoExampleError(FallworkError):
    """A lab for which no example can be chosen."""

    lab: str
    place: Place | None

    def __str__(self) -> str:
        return (
            f"{f'{self.place}: ' if self.place else ''}no worked example for {self.lab} was found "
            "whose results differ from the lab's; give its numbers instead of auto, e.g. "
            "{weight.mass: 120.0 g}"
        )


def example_of(
    lab: Lab, *, gravity: float, figures: int, published: Frozen | None = None
) -> Scenario:
    """The lab's example as given, else the one that was ``published``, else the first candidate
    that shares no result with the lab.

    ``gravity`` in m/s²; results are compared to so many significant ``figures``.
    """
    if lab.example is not None:
        return lab.example
    kept = _as_published(lab.variant, published) if published else None
    if kept is not None:
        return kept
    own = results_of(lab.variant, gravity)
    for candidate in _candidates(lab.variant):
        found = _results(candidate, gravity)
        if list(found) == list(own) and not _clash(own, found, gravity, figures):
            return candidate
    raise NoExampleError(lab.id, lab.places.get("example"))


def example_in(data: CourseData, term: str, lab: Lab) -> Scenario:
    """The same for a lab of a course, with the course's gravity and significant figures."""
    course, published = data.course, data.published.get((term, lab.id))
    gravity, figures = gravity_of(course), course.significant_figures
    return example_of(lab, gravity=gravity, figures=figures, published=published)


def _as_published(variant: Scenario, published: Frozen) -> Scenario | None:
    """The lab with the numbers that its example was published with; None if that can't be."""
    texts = {
        path: published.example[path]
        for path, text in numbers_of(variant).items()
        if published.example.get(path, text) != text
    }
    try:
        return with_numbers(variant, texts)
    except BadInput:  # the set-up is another one by now
        return None


def _results(candidate: Scenario, gravity: float) -> Mapping[str, Result]:
    try:
        return results_of(candidate, gravity)
    except (BadInput, ImpossibleApparatus):
        return {}


def _clash(
    own: Mapping[str, Result], other: Mapping[str, Result], gravity: float, figures: int
) -> bool:
    """Whether any two results read the same, whatever they are and in whatever unit, or two of one
    quantity nearly so.
    """
    known = _known(gravity, figures)
    mine = {_digits(result, figures) for result in own.values()} - known
    return any(
        _digits(result, figures) in mine
        or (_digits(own[name], figures) in mine and alike(own[name], result, figures))
        for name, result in other.items()
    )


def _known(gravity: float, figures: int) -> set[str]:
    """What gives nothing away: a zero, or a free fall, since g is known."""
    return {_digits(Result(value=value, unit=""), figures) for value in (0.0, gravity)}


def _digits(result: Result, figures: int) -> str:
    size = abs(result.value)
    return f"{size if size > _NOISE else 0.0:.{figures - 1}e}"


def _candidates(variant: Scenario) -> Iterator[Scenario]:
    """Sets of other numbers that can be built, in an order that depends on nothing else."""
    numbers = _numbers(variant)
    if not numbers:
        return
    for turn in range(1, _TRIES + 1):
        texts = {}
        for place, (path, quantity) in enumerate(numbers.items()):
            step = _GOLDEN[place % len(_GOLDEN)]
            share = (turn * step + place / 7) % 1
            texts[path] = _scaled(quantity, _SMALLEST + share * (_LARGEST - _SMALLEST))
        if None in texts.values():
            continue
        try:
            yield with_numbers(variant, {path: text for path, text in texts.items() if text})
        except BadInput:
            continue  # e.g. a distance that the track doesn't leave


def _numbers(variant: Scenario) -> dict[str, Quantity]:
    """What an example may have otherwise: masses, friction, slopes, and the run."""
    found: dict[str, Quantity | None] = {}
    for name, thing in variant.objects.items():
        if isinstance(thing, Slider | Hanging):
            found[f"{name}.mass"] = thing.mass
        if isinstance(thing, Slider):
            found[f"{name}.friction"] = thing.friction
    for name, surface in variant.surfaces.items():
        found[f"{name}.friction"] = surface.friction
        found[f"{name}.slope"] = surface.slope
    run = variant.run
    found |= {"run.distance": run.distance, "run.start": run.speed, "run.until": run.until}
    return {path: quantity for path, quantity in found.items() if quantity and quantity.value}


def _scaled(quantity: Quantity, factor: float) -> str | None:
    """A number about ``factor`` times as large with the same decimals; None if it is too near."""
    if abs(factor - 1) < _NEAR:
        return None
    number = Decimal(quantity.number)
    exponent = max(int(number.as_tuple().exponent), number.adjusted() - 1)
    value = (number * Decimal(repr(factor))).quantize(Decimal(1).scaleb(exponent))
    value = value.quantize(Decimal(1).scaleb(int(number.as_tuple().exponent)))
    return f"{value:f} {quantity.unit}".strip() if value else None
