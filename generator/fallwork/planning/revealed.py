"""Which results of a lab are held back and can yet be read on a page that opens earlier.

Takes a course's data and a moment; gives what can be read where. Results count as alike when they
differ by less than the last figure that students hand in. What the track decides alone, such as
the deceleration μg of a cart that coasts, is the same in every term and gives nothing away.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from math import inf, isclose

from fallwork.errors import BadInput, Place, Problem, said
from fallwork.mechanics.course import gravity_of
from fallwork.planning.results import Result, alike, example_in, results_of
from fallwork.scenario import CourseData, Lab, Scenario
from fallwork.scenario.numbers import quantities_of, with_values

_SOLUTION, _EXAMPLE, _TRIALS = "solution", "worked example", "trials"
_NAMED = 3  # results that a sentence names
_SHIFT = 0.01  # relative change of a number that tells what depends on it


@dataclass(frozen=True, kw_only=True)
class Revealed:
    """What one page shows of a lab whose own solution opens later."""

    place: Place  # of the numbers that are at fault, or their file
    key: tuple[str, str]  # ids of the lab's term and of the lab
    of: tuple[str, str]  # likewise of the page: its own lab's example is a page too
    page: str  # e.g. "the solution of level-track in 2026-spring"
    since: datetime  # when that page opens
    until: datetime  # when the lab's solution does
    results: tuple[str, ...]  # of the lab, each with its value
    everything: bool  # whether these are all that the lab's numbers decide
    measured: bool = False  # whether the page shows them as trials, which scatter
    variant: str = ""  # of the lab, whose results they are

    @property
    def lab(self) -> str:
        """Its id, with that of the variant."""
        return _named(self.key[1], self.variant)

    def __str__(self) -> str:
        named = "; ".join((*self.results[:_NAMED], *(("…",) if self.results[_NAMED:] else ())))
        return said(
            "planning",
            "revealed",
            lab=self.lab,
            page=self.page,
            since=self.since,
            until=self.until,
            measured=said("planning", "measured-values") if self.measured else "",
            share=said("planning", "every-result" if self.everything else "some-results"),
            results=named,
        )


def _named(lab: str, variant: str) -> str:
    return said("planning", "variant-of", lab=lab, variant=variant) if variant else lab


class RevealedError(BadInput):
    """Labs of which every result can be read on another page."""


def check_revealed(data: CourseData, now: datetime, *, ahead: bool = False) -> None:
    """Raise RevealedError for labs of which every result stands in a solution or an example.

    Of the pages, those that are open at ``now``; if ``ahead``, those that will be too.
    """
    if wrong := tuple(
        Problem(place=each.place, found=str(each), expected=said("planning", "give-other-numbers"))
        for each in revealed(data, now)
        if each.everything and not each.measured and (ahead or each.since <= now)
    ):
        raise RevealedError(wrong)


def revealed(
    data: CourseData, now: datetime, key: tuple[str, str] | None = None
) -> tuple[Revealed, ...]:
    """For each lab that is held back at ``now`` (aware), page by page, open or still to open; of
    all labs or of one, by the ids of its term and itself.
    """
    pages = tuple(_pages(data, now))
    held = (each for each in pages if each.what == _SOLUTION and each.since > now)
    held = (each for each in held if key in (None, (each.term, each.lab.id)))
    pairs = (_compared(each, page) for each in held for page in pages)
    return tuple(found for found in pairs if found is not None)


@dataclass(frozen=True)
class _Page:
    """A page with results, of a lab that hasn't been taken down."""

    data: CourseData
    term: str
    lab: Lab
    what: str
    since: datetime
    variant: str = ""  # its id, of a solution with a variant's numbers

    @cached_property
    def scenario(self) -> Scenario:
        """With the numbers of the page."""
        shown = self.what == _EXAMPLE
        return example_in(self.data, self.term, self.lab) if shown else self.lab.variant

    @cached_property
    def results(self) -> Mapping[str, Result]:
        """All of them."""
        return results_of(self.scenario, gravity_of(self.data.course))

    @cached_property
    def decided(self) -> list[str]:
        """The results that change with the masses and the run."""
        given = quantities_of(self.scenario)
        chosen = [each for each in given if each[0].endswith(".mass") or each[0].startswith("run.")]
        moved = {path: of.value * (1 - _SHIFT * at) for at, (path, of) in enumerate(chosen, 1)}
        others = results_of(with_values(self.scenario, moved), gravity_of(self.data.course))

        def stays(name: str, value: float) -> bool:
            other = others[name].value if name in others else inf
            return isclose(value, other, rel_tol=1e-9, abs_tol=1e-9)

        return [name for name, each in self.results.items() if not stays(name, each.value)]


def _pages(data: CourseData, now: datetime) -> Iterator[_Page]:
    for term in data.terms:
        for lab in term.labs:
            if lab.withdrawn and lab.withdrawn.at <= now:
                continue
            for variant, each in {"": lab, **lab.by_variant}.items():
                yield _Page(data, term.id, each, _SOLUTION, lab.solution_opens, variant)
            yield _Page(data, term.id, lab, _EXAMPLE, lab.opens_first)
            if lab.measured is not None and lab.trials_open < lab.solution_opens:
                yield _Page(data, term.id, lab, _TRIALS, lab.trials_open)


def _compared(held: _Page, page: _Page) -> Revealed | None:
    """What ``page`` shows of a solution that is ``held`` back; None if nothing."""
    lab, other, trials = held.lab, page.lab, page.what == _TRIALS
    # Trials of the term itself may be seen by all its students, and of others once they are solved.
    fair = trials and (page.term == held.term or other.solution_opens < held.since)
    if page.since >= held.since or fair:
        return None
    own, shown = lab.variant, other.variant
    if list(own.objects) != list(shown.objects) or own.systems != shown.systems:
        return None  # another set-up, in which the same name is no same quantity
    if list(held.results) != list(page.results):
        return None
    figures = held.data.course.significant_figures
    same = [name for name in held.decided if alike(held.results[name], page.results[name], figures)]
    everything = len(same) == len(held.decided)
    by_chance = trials or other.scenario.id != lab.scenario.id
    if not same or (by_chance and not everything):
        return None
    read: dict[str, str] = {}  # each value once, though several quantities have it
    for result in (held.results[name] for name in same):
        digits = f"{result.value:#.{figures}g}".rstrip(".").replace("-", "\u2212")
        read.setdefault(f"{digits} {result.unit}", result.words)
    whole = Place(file=f"{held.data.root}/terms/{held.term}.yaml")
    at = lab.places.get("example" if other is lab else "numbers", lab.places.get("", whole))
    at = lab.places.get(f"variants.{held.variant}", at)
    of = _named(other.id, page.variant)
    return Revealed(
        place=at,
        key=(held.term, lab.id),
        of=(page.term, other.id),
        page=said("planning", "page-of", what=page.what, lab=of, term=page.term),
        variant=held.variant,
        since=page.since,
        until=held.since,
        results=tuple(f"{words}: {value}" for value, words in read.items()),
        everything=everything,
        measured=trials,
    )
