"""Which results of a lab are held back and can yet be read on a page that opens earlier.

Takes a course's data and a moment; gives what can be read where. Results count as alike when they
differ by less than the last figure that students hand in. What the track decides alone, such as
the deceleration μg of a cart that coasts, is the same in every term and gives nothing away.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from math import isclose

from fallwork.errors import FallworkError, Place
from fallwork.measurement.inputs import quantities_of, with_values
from fallwork.mechanics.course import gravity_of
from fallwork.planning.examples import example_in
from fallwork.planning.results import Result, alike, results_of
from fallwork.scenario import CourseData, Lab, Scenario

_SOLUTION, _EXAMPLE, _TRIALS = "solution", "worked example", "trials"
_NAMED = 3  # results that a sentence names
_SHIFT = 0.01  # relative change of a number that tells what depends on it


@dataclass(frozen=True, kw_only=True)
class Revealed:
    """What one page shows of a lab whose own solution opens later."""

    place: Place | str  # of the numbers that are at fault, or their file
    key: tuple[str, str]  # ids of the lab's term and of the lab
    of: tuple[str, str]  # likewise of the page: its own lab's example is a page too
    page: str  # e.g. "the solution of level-track in 2026-spring"
    since: datetime  # when that page opens
    until: datetime  # when the lab's solution does
    results: tuple[str, ...]  # of the lab, each with its value
    everything: bool  # whether these are all that the lab's numbers decide
    measured: bool = False  # whether the page shows them as trials, which scatter

    def __str__(self) -> str:
        named = "; ".join((*self.results[:_NAMED], *(("…",) if self.results[_NAMED:] else ())))
        some = "measured values for " if self.measured else ""
        share = "every result" if self.everything else "results"
        return (
            f"{self.key[1]}: {self.page}, open from {self.since:%Y-%m-%d} on, shows {some}{share} "
            f"that this lab holds back until {self.until:%Y-%m-%d}: {named}"
        )


@dataclass(eq=False)
class RevealedError(FallworkError):
    """Labs of which every result can be read on another page; ``found`` holds them."""

    found: tuple[Revealed, ...]

    def __str__(self) -> str:
        remedy = "give it other numbers, or let that page open no earlier than its own solution"
        return "\n".join(f"{each.place}: {each}; {remedy}" for each in self.found)


def check_revealed(data: CourseData, now: datetime, *, ahead: bool = False) -> None:
    """Raise RevealedError for labs of which every result stands in a solution or an example.

    Of the pages, those that are open at ``now``; if ``ahead``, those that will be too.
    """
    whole = (each for each in revealed(data, now) if each.everything and not each.measured)
    if wrong := tuple(each for each in whole if ahead or each.since <= now):
        raise RevealedError(wrong)


def revealed(data: CourseData, now: datetime) -> tuple[Revealed, ...]:
    """For each lab that is held back at ``now`` (aware), page by page, open or still to open."""
    pages = tuple(_pages(data, now))
    return tuple(
        found
        for held in pages
        if held.what == _SOLUTION and held.since > now
        for page in pages
        if (found := _compared(held, page, data)) is not None
    )


@dataclass(frozen=True, kw_only=True)
class _Page:
    """A page with results, of a lab that hasn't been taken down."""

    data: CourseData
    term: str
    lab: Lab
    what: str
    since: datetime

    def __str__(self) -> str:
        return f"the {self.what} of {self.lab.id} in {self.term}"

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
    def decided(self) -> tuple[str, ...]:
        """The results that change with the masses and the run."""
        chosen = [
            (path, quantity.value)
            for path, quantity in quantities_of(self.scenario)
            if path.endswith(".mass") or path.startswith("run.")
        ]
        moved = {path: value * (1 - _SHIFT * at) for at, (path, value) in enumerate(chosen, 1)}
        others = results_of(with_values(self.scenario, moved), gravity_of(self.data.course))
        return tuple(
            name
            for name, each in self.results.items()
            if name not in others
            or not isclose(each.value, others[name].value, rel_tol=1e-9, abs_tol=1e-9)
        )


def _pages(data: CourseData, now: datetime) -> Iterator[_Page]:
    for term in data.terms:
        for lab in term.labs:
            if lab.withdrawn and lab.withdrawn.at <= now:
                continue
            opens = {_SOLUTION: lab.solution_opens, _EXAMPLE: lab.opens_first}
            if lab.measured is not None and lab.trials_open < lab.solution_opens:
                opens[_TRIALS] = lab.trials_open
            for what, since in opens.items():
                yield _Page(data=data, term=term.id, lab=lab, what=what, since=since)


def _compared(held: _Page, page: _Page, data: CourseData) -> Revealed | None:
    """What ``page`` shows of a solution that is ``held`` back; None if nothing."""
    if page.since >= held.since or not _of_one_kind(held, page) or _of_the_class(held, page):
        return None
    figures = data.course.significant_figures
    same = [name for name in held.decided if alike(held.results[name], page.results[name], figures)]
    everything = len(same) == len(held.decided)
    by_chance = page.what == _TRIALS or page.lab.scenario.id != held.lab.scenario.id
    if not same or (by_chance and not everything):
        return None
    read: dict[str, str] = {}  # each value once, though several quantities have it
    for name in same:
        read.setdefault(_written(held.results[name], figures), held.results[name].words)
    return Revealed(
        place=_place(held, page, data),
        key=(held.term, held.lab.id),
        of=(page.term, page.lab.id),
        page=str(page),
        since=page.since,
        until=held.since,
        results=tuple(f"{words}: {value}" for value, words in read.items()),
        everything=everything,
        measured=page.what == _TRIALS,
    )


def _of_one_kind(held: _Page, page: _Page) -> bool:
    """Whether both are the same set-up, so that the same name is the same quantity."""
    one, other = held.lab.variant, page.lab.variant
    same = list(one.objects) == list(other.objects) and one.systems == other.systems
    return same and list(held.results) == list(page.results)


def _of_the_class(held: _Page, page: _Page) -> bool:
    """Whether these are the trials of the term itself, which all its students may see, or trials
    whose solution is open too.
    """
    solved = page.lab.solution_opens < held.since
    return page.what == _TRIALS and (page.term == held.term or solved)


def _place(held: _Page, page: _Page, data: CourseData) -> Place | str:
    """Of the lab's own example, if that is the page; else of the lab's numbers."""
    lab = held.lab
    places = [lab.places.get(key) for key in ("example" if page.lab is lab else "numbers", "")]
    return next(filter(None, places), f"{data.root}/terms/{held.term}.yaml")


def _written(result: Result, figures: int) -> str:
    digits = f"{result.value:#.{figures}g}".rstrip(".").replace("-", "\u2212")
    return f"{digits} {result.unit}"
