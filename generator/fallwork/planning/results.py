"""Every result of a scenario by a name of its own, in SI units; and other numbers for a lab.

Takes a scenario and the local gravity; gives what a worked solution may print: times, velocities,
accelerations, forces, works and changes of energy. What is given or undetermined is left out.
A worked example has other numbers than the lab, so chosen that it gives no answer away. The same
lab always gets the same one.
"""

from collections import Counter
from collections.abc import Iterator, Mapping
from contextlib import suppress
from decimal import Decimal
from math import floor, log10
from typing import NamedTuple

from fallwork.errors import BadInput, FallworkError, said
from fallwork.mechanics import ImpossibleApparatus, account, apparatus_of, solve
from fallwork.mechanics.apparatus import Apparatus
from fallwork.mechanics.course import gravity_of
from fallwork.mechanics.solution import Force, Interaction, Phase, Role, ZeroWork
from fallwork.once import once
from fallwork.scenario import CourseData, Hanging, Lab, Quantity, Scenario, Slider
from fallwork.scenario.model import SystemChoice
from fallwork.scenario.nouns import Nouns
from fallwork.scenario.numbers import numbers_of, with_numbers

_NOTHING = 1e-9  # SI; a result below this is zero on record
_SIZES = (Interaction.NORMAL, Interaction.FRICTION, Interaction.ROLLING)
_KINDS = {
    Interaction.NORMAL: "normal force",
    Interaction.ROLLING: "force at the rims",
    Interaction.CONTACT: "contact force",
    Interaction.AXLE: "axle force",
    Interaction.LANDING: "landing force",
}
_WHEN = {
    Role.LANDING: " in the landing",
    Role.COASTING: " while coasting",
    Role.RUNNING_ON: " after the distance",
}


class Result(NamedTuple):
    """A computed value."""

    value: float
    unit: str  # SI, as in the table of units
    words: str = ""  # what it is, for a reader

    @property
    def written(self) -> str:
        """As it stands on record: to fewer figures than floats differ in between machines."""
        return f"{0.0 if abs(self.value) < _NOTHING else self.value:.6g} {self.unit}"


class Row(NamedTuple):
    """A quantity of a phase, as a line of the answer key."""

    name: str  # stands on record; "" for what is given as often as computed
    words: str
    value: float | None  # None: undetermined
    unit: str
    choice: SystemChoice | None = None  # of which it is a work or an energy
    reason: ZeroWork | None = None  # of a work that is zero


def force_in_words(force: Force, nouns: Nouns) -> str:
    """A force as messages and the answer key name it, e.g. ``normal force of the track on …``."""
    kind = _KINDS.get(force.interaction, force.interaction.value)
    return f"{kind} of {nouns.the(force.partner)} on {nouns.the(force.on)}"


def alike(own: Result, other: Result, figures: int) -> bool:
    """Whether sizes differ by less than the last of the ``figures`` of the first one."""
    size = abs(own.value)
    last = 10.0 ** (floor(log10(size)) - figures + 1) if size else 0.0
    return abs(size - abs(other.value)) < last


def results_of(scenario: Scenario, gravity: float) -> Mapping[str, Result]:
    """Name -> result, e.g. ``driven, acceleration of cart``; ``gravity`` in m/s²."""
    return {name: Result(*each) for name, each in _results(scenario, gravity).items()}


@once
def _results(scenario: Scenario, gravity: float) -> dict[str, tuple[float, str, str]]:
    apparatus = apparatus_of(scenario, gravity)
    found: dict[str, tuple[float, str, str]] = {}
    seen: Counter[str] = Counter()
    for phase in solve(apparatus).phases:
        seen[phase.name] += 1
        times = f" {seen[phase.name]}" if seen[phase.name] > 1 else ""
        when = _WHEN.get(phase.role, "") + (f" in part {phase.part}" if phase.part > 1 else "")
        for row in rows_of(scenario, apparatus, phase):
            if row.name and row.value is not None:
                of = f" (system “{row.choice.title}”)" if row.choice else ""
                words = f"{row.words}{of}{when}{times}"
                found[f"{phase.name}{times}, {row.name}"] = (
                    float(row.value) + 0.0,
                    row.unit,
                    words,
                )
    return found


def rows_of(scenario: Scenario, apparatus: Apparatus, phase: Phase) -> Iterator[Row]:
    """The motion, the forces, then works and energies of the systems that the pages dwell on."""
    nouns, the = scenario.nouns, scenario.nouns.the
    time = "time" if phase.role in _WHEN else "time of the run"
    yield Row("duration", time, phase.duration, "s")
    for name, words, values, unit in (
        ("acceleration of {}", "acceleration of {}", phase.accelerations, "m/s²"),
        ("", "displacement of {}", phase.displacements, "m"),
        ("", "initial velocity of {}", phase.start_velocities, "m/s"),
        ("velocity of {} at the end", "final velocity of {}", phase.end_velocities, "m/s"),
    ):
        for of, value in values.items():
            yield Row(name.format(of), words.format(the(of)), value, unit)
    for string, pulls in phase.tensions.items():
        for of, pull in pulls.items():
            words = f"tension of {the(string)} on {the(of)}"
            yield Row(f"tension of {string} on {of}", words, pull, "N")
    for force in phase.forces:
        if force.interaction in _SIZES and force.on in apparatus.bodies:
            yield Row(f"size of {force.name}", force_in_words(force, nouns), force.size, "N")
    for choice in scenario.systems:
        system = account(apparatus, phase, choice.members)
        for force in system.external:
            words, name = f"work of {force_in_words(force, nouns)}", f"work of {force.name}"
            yield Row(f"{name} in {choice.id}", words, force.work, "J", choice, force.reason)
        changes = {f"change of {kind} energy": x for kind, x in system.energy_changes.items()}
        for words, value in {"external work": system.external_work, **changes}.items():
            yield Row(f"{words} in {choice.id}", words, value, "J", choice)
        yield Row("", "change of energy", system.energy_change, "J", choice)


# ---- other numbers

_TRIES = 500
_SMALLEST, _LARGEST = 0.6, 1.6  # a number of the example over that of the lab
_NEAR = 0.08  # relative; closer than that a number would look like the lab's
_NOISE = 1e-12  # SI; what sums of floats leave of a zero
_GOLDEN = (0.6180339887, 0.7548776662, 0.8191725134, 0.8566748838, 0.8812714616)
# ^ steps of an evenly spread sequence for up to so many numbers at once (from memory: the
#   reciprocal roots of x^(d+1) = x + 1 for d = 1 … 5)


class NoExampleError(FallworkError):
    """A lab for which no example can be chosen."""


def example_in(data: CourseData, term: str, lab: Lab) -> Scenario:
    """The lab's example as given, else the one that was published, else the first candidate that
    shares no result with the lab, to the course's significant figures.
    """
    if lab.example is not None:
        return lab.example
    variant, course = lab.variant, data.course
    if record := data.published.get((term, lab.id)):
        kept, own = record.example, numbers_of(variant)
        texts = {path: kept[path] for path, text in own.items() if kept.get(path, text) != text}
        with suppress(BadInput):  # the set-up is another one by now
            return with_numbers(variant, texts)
    gravity = gravity_of(course)
    every = [results_of(each, gravity) for each in lab.every_variant]
    for candidate in candidates(variant):
        with suppress(BadInput, ImpossibleApparatus):
            found = results_of(candidate, gravity)
            same, figures = list(found) == list(every[0]), course.significant_figures
            if same and not any(_clash(results, found, gravity, figures) for results in every):
                return candidate
    place = lab.places.get("example")
    words = said("planning", "no-example", lab=lab.id)
    raise NoExampleError(f"{place}: {words}" if place else words)


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


def candidates(variant: Scenario) -> Iterator[Scenario]:
    """The scenario with other numbers that can be built, in an order that depends on nothing else:
    other masses, friction, slopes, and another run.
    """
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
    numbers = [(path, number) for path, number in found.items() if number and number.value]
    for turn in range(1, _TRIES + 1 if numbers else 0):
        texts = {}
        for place, (path, quantity) in enumerate(numbers):
            share = (turn * _GOLDEN[place % len(_GOLDEN)] + place / 7) % 1
            texts[path] = _scaled(quantity, _SMALLEST + share * (_LARGEST - _SMALLEST))
        if all(texts.values()):
            with suppress(BadInput):  # e.g. a distance that the track doesn't leave
                yield with_numbers(variant, texts)


def _scaled(quantity: Quantity, factor: float) -> str:
    """A number about ``factor`` times as large with the same decimals; "" if it is too near."""
    if abs(factor - 1) < _NEAR:
        return ""
    number = Decimal(quantity.number)
    exponent = max(int(number.as_tuple().exponent), number.adjusted() - 1)
    value = (number * Decimal(repr(factor))).quantize(Decimal(1).scaleb(exponent))
    value = value.quantize(Decimal(1).scaleb(int(number.as_tuple().exponent)))
    return f"{value:f} {quantity.unit}".strip() if value else ""
