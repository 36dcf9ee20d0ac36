"""Chooses the numbers of a worked example so that it gives no answer of the lab away.

Takes a lab and the local gravity; gives the example as a complete scenario. The same lab always
gets the same example. Choosing looks at the lab's own results, and tells no more about them than
that the example's aren't among them.
"""

from collections.abc import Iterator, Mapping
from contextlib import suppress
from decimal import Decimal

from fallwork.errors import BadInput, FallworkError
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


class NoExampleError(FallworkError):
    """A lab for which no example can be chosen."""


def example_of(
    lab: Lab, *, gravity: float, figures: int, published: Frozen | None = None
) -> Scenario:
    """The lab's example as given, else the one that was ``published``, else the first candidate
    that shares no result with the lab.

    ``gravity`` in m/s²; results are compared to so many significant ``figures``.
    """
    if lab.example is not None:
        return lab.example
    if published is not None:
        kept = published.example
        texts = {
            path: kept[path]
            for path, text in numbers_of(lab.variant).items()
            if kept.get(path, text) != text
        }
        with suppress(BadInput):  # the set-up is another one by now
            return with_numbers(lab.variant, texts)
    own = results_of(lab.variant, gravity)
    for candidate in _candidates(lab.variant):
        with suppress(BadInput, ImpossibleApparatus):
            found = results_of(candidate, gravity)
            if list(found) == list(own) and not _clash(own, found, gravity, figures):
                return candidate
    place = lab.places.get("example")
    raise NoExampleError(
        f"{f'{place}: ' if place else ''}no worked example for {lab.id} was found whose results "
        "differ from the lab's; give its numbers instead of auto, e.g. {weight.mass: 120.0 g}"
    )


def example_in(data: CourseData, term: str, lab: Lab) -> Scenario:
    """The same for a lab of a course, with the course's gravity and significant figures."""
    course, published = data.course, data.published.get((term, lab.id))
    gravity, figures = gravity_of(course), course.significant_figures
    return example_of(lab, gravity=gravity, figures=figures, published=published)


def _clash(
    own: Mapping[str, Result], other: Mapping[str, Result], gravity: float, figures: int
) -> bool:
    """Whether any two results read the same, whatever they are and in whatever unit, or two of one
    quantity nearly so; but for what gives nothing away: a zero, or a free fall, since g is known.
    """

    def digits(value: float) -> str:
        size = abs(value)
        return f"{size if size > _NOISE else 0.0:.{figures - 1}e}"

    mine = {digits(each.value) for each in own.values()} - {digits(0.0), digits(gravity)}
    return any(
        digits(each.value) in mine
        or (digits(own[name].value) in mine and alike(own[name], each, figures))
        for name, each in other.items()
    )


def _candidates(variant: Scenario) -> Iterator[Scenario]:
    """Sets of other numbers that can be built, in an order that depends on nothing else."""
    numbers = _numbers(variant)
    for turn in range(1, _TRIES + 1 if numbers else 0):
        texts = {}
        for place, (path, quantity) in enumerate(numbers.items()):
            share = (turn * _GOLDEN[place % len(_GOLDEN)] + place / 7) % 1
            texts[path] = _scaled(quantity, _SMALLEST + share * (_LARGEST - _SMALLEST))
        if all(texts.values()):
            with suppress(BadInput):  # e.g. a distance that the track doesn't leave
                yield with_numbers(variant, texts)


def _numbers(variant: Scenario) -> dict[str, Quantity]:
    """What an example may have otherwise: masses, friction, slopes, and the run."""
    found: dict[str, Quantity | None] = {}
    for name, thing in variant.objects.items():
        if isinstance(thing, Slider | Hanging):
            found[f"{name}.mass"] = thing.mass
        if isinstance(thing, Slider):
            found[f"{name}.friction"] = thing.friction
    for name, surface in variant.surfaces.items():
        found |= {f"{name}.friction": surface.friction, f"{name}.slope": surface.slope}
    run = variant.run
    found |= {"run.distance": run.distance, "run.start": run.speed, "run.until": run.until}
    return {path: quantity for path, quantity in found.items() if quantity and quantity.value}


def _scaled(quantity: Quantity, factor: float) -> str:
    """A number about ``factor`` times as large with the same decimals; "" if it is too near."""
    if abs(factor - 1) < _NEAR:
        return ""
    number = Decimal(quantity.number)
    exponent = max(int(number.as_tuple().exponent), number.adjusted() - 1)
    value = (number * Decimal(repr(factor))).quantize(Decimal(1).scaleb(exponent))
    value = value.quantize(Decimal(1).scaleb(int(number.as_tuple().exponent)))
    return f"{value:f} {quantity.unit}".strip() if value else ""
