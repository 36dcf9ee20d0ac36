"""Which results of a lab are held back and can yet be read on a page that opens earlier.

Takes a course's data and a moment; gives what can be read where. Results count as alike when they
differ by less than the last figure that students hand in. What the track decides alone, such as
the deceleration μg of a cart that coasts, is the same in every term and gives nothing away.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cached_property, partial
from math import inf, isclose

from fallwork.errors import BadInput, Place, Problem, said
from fallwork.mechanics.course import gravity_of
from fallwork.planning.results import Result, alike, example_in, results_of
from fallwork.scenario import CourseData, Lab, Scenario
from fallwork.scenario.numbers import quantities_of, with_values

_said = partial(said, "planning")
_SOLUTION, _EXAMPLE, _TRIALS = "solution", "worked example", "trials"
_NAMED = 3  # results that a sentence names
_SHIFT = 0.01  # relative change of a number that tells what depends on it


@dataclass(frozen=True, kw_only=True)
class Revealed:
    """What one page shows of a lab whose own solution opens later."""

    place: Place  # of the numbers that are at fault, or their file
    key: tuple[str, str]  # ids of the lab's term and of the lab
    of: tuple[str, str]  # likewise of the page: its own lab's example is a page too
    since: datetime  # when that page opens
    results: tuple[str, ...]  # of the lab, each with its value
    everything: bool  # whether these are all that the lab's numbers decide
    measured: bool  # whether the page shows them as trials, which scatter
    words: str

    def __str__(self) -> str:
        return self.words


def _named(lab: str, variant: str) -> str:
    return _said("variant-of", lab=lab, variant=variant) if variant else lab


class RevealedError(BadInput):
    """Labs of which every result can be read on another page."""


def check_revealed(data: CourseData, now: datetime, *, ahead: bool = False) -> None:
    """Raise RevealedError for labs of which every result stands in a solution or an example.

    Of the pages, those that are open at ``now``; if ``ahead``, those that will be too.
    """
    if wrong := tuple(
        Problem(place=each.place, found=str(each), expected=_said("give-other-numbers"))
        for each in revealed(data, now)
        if each.everything and not each.measured and (ahead or each.since <= now)
    ):
        raise RevealedError(wrong)


def revealed(data: CourseData, now: datetime) -> tuple[Revealed, ...]:
    """For each lab that is held back at ``now`` (aware), page by page, open or still to open."""
    labs = ((term.id, lab) for term in data.terms for lab in term.labs)
    pages = [page for each in labs for page in _pages(data, *each, now)]
    return tuple(_shown(pages, pages, now))


class Beside:
    """All pages but a lab's own, solved once: for many sets of numbers of the lab, what they show
    of it, and it of theirs, from the day before it opens on.
    """

    def __init__(self, data: CourseData, term: str, lab: Lab) -> None:
        self.data, self.term, self.of = data, term, lab.scenario.id
        self.now = lab.opens_first - timedelta(days=1)
        labs = ((each.id, other) for each in data.terms for other in each.labs)
        others = (each for each in labs if (each[0], each[1].id) != (term, lab.id))
        self.pages = [page for each in others for page in _pages(data, *each, self.now)]

    @property
    def scenarios(self) -> list[Scenario]:
        """What labs of the same set-up have for numbers, and their examples."""
        return [
            each.scenario
            for each in self.pages
            if each.what != _TRIALS and each.lab.scenario.id == self.of
        ]

    def revealed(self, lab: Lab) -> tuple[Revealed, ...]:
        """Of the lab with these numbers."""
        own = [*_pages(self.data, self.term, lab, self.now)]
        mine = _shown(own, [*self.pages, *own], self.now)
        return (*mine, *_shown(self.pages, own, self.now))


def _shown(held: Sequence["_Page"], pages: Sequence["_Page"], now: datetime) -> Iterator[Revealed]:
    solutions = (each for each in held if each.what == _SOLUTION and each.since > now)
    pairs = (_compared(each, page) for each in solutions for page in pages)
    return (found for found in pairs if found is not None)


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
        pairs = (
            (n, each.value, others[n].value if n in others else inf)
            for n, each in self.results.items()
        )
        return [n for n, one, other in pairs if not isclose(one, other, rel_tol=1e-9, abs_tol=1e-9)]


def _pages(data: CourseData, term: str, lab: Lab, now: datetime) -> Iterator[_Page]:
    if lab.withdrawn and lab.withdrawn.at <= now:
        return
    for variant, each in {"": lab, **lab.by_variant}.items():
        yield _Page(data, term, each, _SOLUTION, lab.solution_opens, variant)
    yield _Page(data, term, lab, _EXAMPLE, lab.opens_first)
    if lab.measured is not None and lab.trials_open < lab.solution_opens:
        yield _Page(data, term, lab, _TRIALS, lab.trials_open)


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
    return _told(held, page, same) if same and (everything or not by_chance) else None


def _told(held: _Page, page: _Page, same: Sequence[str]) -> Revealed:
    lab, other, trials = held.lab, page.lab, page.what == _TRIALS
    figures, everything = held.data.course.significant_figures, len(same) == len(held.decided)
    read: dict[str, str] = {}  # each value once, though several quantities have it
    for result in (held.results[name] for name in same):
        digits = f"{result.value:#.{figures}g}".rstrip(".").replace("-", "\u2212")
        read.setdefault(f"{digits} {result.unit}", result.words)
    results = tuple(f"{words}: {value}" for value, words in read.items())
    whole = Place(file=f"{held.data.root}/terms/{held.term}.yaml")
    at = lab.places.get("example" if other is lab else "numbers", lab.places.get("", whole))
    told = {
        "lab": _named(lab.id, held.variant),
        "page": _said(
            "page-of", what=page.what, lab=_named(other.id, page.variant), term=page.term
        ),
        "since": page.since,
        "until": held.since,
        "measured": _said("measured-values") if trials else "",
        "share": _said("every-result" if everything else "some-results"),
        "results": "; ".join((*results[:_NAMED], *["…"][: len(results[_NAMED:])])),
    }
    return Revealed(
        place=lab.places.get(f"variants.{held.variant}", at),
        key=(held.term, lab.id),
        of=(page.term, other.id),
        since=page.since,
        results=results,
        everything=everything,
        measured=trials,
        words=_said("revealed", **told),
    )
