"""What is worth knowing where nothing is wrong: what happens, and a note for each doubt.

Takes scenarios, labs and terms; gives lines of text, each note with its place.
"""

from collections.abc import Iterable, Iterator
from datetime import datetime

from fallwork.commands.measured import copied, on_evidence
from fallwork.commands.sources import calculation
from fallwork.commands.trials import local_gravity
from fallwork.errors import Place
from fallwork.lesson.happening import Happening, otherwise, short_of_its_distance
from fallwork.lesson.measured.means import on_means
from fallwork.lesson.reviewing import advice, date_in_words, doubt_in_words, without_trials
from fallwork.mechanics.course import gravity_of
from fallwork.pages.trials import evidence_of, findings_of, gravity_estimate
from fallwork.planning import (
    Doubt,
    doubtful_dates,
    doubts,
    doubts_of_course,
    example_in,
    revealed,
    review,
)
from fallwork.scenario import Course, CourseData, Lab, Scenario, Slider, Term


def note(where: Place | str, words: str) -> str:
    """A line about something that may be meant, but should be known."""
    return f"{where}: note: {words}".replace("\u00a0", " ")


def happening_in(scenario: Scenario, data: CourseData | None) -> Happening:
    """The run of a scenario where the course is."""
    of = calculation(data)
    return Happening(scenario, of.gravity, of.figures)


def on_course(data: CourseData, now: datetime) -> Iterator[str]:
    """What happens in each lab and in each scenario that no lab uses; then all notes."""
    labs = [(term, lab) for term in data.terms for lab in term.labs]
    for term, lab in labs:
        yield f"{term.id}/{lab.id}: {happening_in(lab.variant, data).sentence()}"
    given = {lab.scenario.id for _, lab in labs}
    spare = [scenario for name, scenario in data.scenarios.items() if name not in given]
    for scenario in spare:
        yield f"scenarios/{scenario.id}: {happening_in(scenario, data).sentence()}"
    yield from _on_gravity(data.course)
    for scenario in data.scenarios.values():
        file = f"{data.root}/scenarios/{scenario.id}.yaml"
        yield from _on_numbers(file, scenario)
        if scenario in spare:
            yield from _on_design(file, scenario, data)
    for term in data.terms:
        yield from _on_term(term, data)
    for where, words in copied(data):
        yield note(where, words)
    for each in revealed(data, now):
        yield note(each.place, str(each))
    yield from on_address(data)
    yield from _on_own_pages(data)


def _on_own_pages(data: CourseData) -> Iterator[str]:
    """Pages written by hand, and files beside them, at which a publication would stop."""
    settings = data.root.parent / "mkdocs.yml"
    if settings.is_file():
        from fallwork.site.building import own_files_refused, own_pages_unlisted

        for each in own_pages_unlisted(settings):
            yield note(each.place, f"{each.found}; {each.expected}")
        for told in own_files_refused(settings, data):
            where, _, words = told.partition(": ")
            yield note(where, words)


def on_address(data: CourseData) -> Iterator[str]:
    """Whether a link that is copied is a whole address."""
    if not data.course.url:
        yield note(
            f"{data.root}/course.yaml",
            "without url, what staff copy begins at the root of the students’ site and can't be "
            "sent as it is; add where the site will stand, e.g. url: https://lab.example.org/",
        )


def on_scenario(file: str, scenario: Scenario, data: CourseData | None) -> Iterator[str]:
    """What happens with a scenario's own numbers, and all notes."""
    yield f"{file}: {happening_in(scenario, data).sentence()}"
    yield from _on_numbers(file, scenario)
    yield from _on_design(file, scenario, data)


def _on_numbers(file: str, scenario: Scenario) -> Iterator[str]:
    yield from _doubts(file, doubts(scenario))
    the = scenario.nouns.the
    for name, body in scenario.objects.items():
        if not isinstance(body, Slider):
            continue
        ends = (
            (f"starts_at of {name}", body.starts_at),
            (f"length of {body.runs_on}", scenario.surfaces[body.runs_on].length),
        )
        missing = [what for what, value in ends if value is None]
        if missing:
            yield note(
                scenario.places.get(name, file),
                f"without {' and '.join(missing)}, nothing tells whether {the(name)} reaches the "
                f"end of {the(body.runs_on)}",
            )


def _on_design(file: str, scenario: Scenario, data: CourseData | None) -> Iterator[str]:
    """The design of a scenario's own numbers."""
    where = scenario.places.get("run", file)
    for each in short_of_its_distance(happening_in(scenario, data)):
        yield note(where, each)
    for each in advice(review(scenario, local_gravity(data)), scenario.nouns):
        yield note(where, each)


def _on_gravity(course: Course) -> Iterator[str]:
    yield from _doubts("course.yaml", doubts_of_course(course))


def _doubts(file: str, found: Iterable[Doubt]) -> Iterator[str]:
    for each in found:
        yield note(each.place or file, doubt_in_words(each))


def _on_term(term: Term, data: CourseData) -> Iterator[str]:
    zone = data.course.zone
    titles = [lab.title for lab in term.labs]
    for doubt in doubtful_dates(term):
        yield note(doubt.place, f"{doubt.lab}: {date_in_words(doubt, term.id, zone)}")
    for lab in term.labs:
        if titles.count(lab.title) > 1:
            words = "has the title of another lab, so pages add its id; give it a title of its own"
            yield note(lab.places[""], f"{lab.id} {words}")
        yield from _on_lab(term, lab, data)


def _on_lab(term: Term, lab: Lab, data: CourseData) -> Iterator[str]:
    where = lab.places[""]
    example = example_in(data, term.id, lab)
    for words in _on_runs(lab, example, data):
        yield note(where, f"{lab.id}: {words}")
    known = set(lab.scenario.places.values())
    for doubt in dict.fromkeys((*doubts(lab.variant), *doubts(example))):
        if doubt.place is not None and doubt.place not in known:
            yield note(doubt.place, f"{lab.id}: {doubt_in_words(doubt)}")
    yield from _on_trials(lab, data)


def _on_runs(lab: Lab, example: Scenario, data: CourseData) -> Iterator[str]:
    """Where the lab's run isn't that of its scenario or of its example, or ends too early."""
    run, shown = happening_in(lab.variant, data), happening_in(example, data)
    yield from short_of_its_distance(run)
    yield from otherwise(run, happening_in(lab.scenario, data), "scenario")
    yield from otherwise(run, shown, "example")
    if shown.parts[-1].phase.ends != run.parts[-1].phase.ends:
        yield from (f"example: {words}" for words in short_of_its_distance(shown))


def _on_trials(lab: Lab, data: CourseData) -> Iterator[str]:
    """The design of the numbers, at the rate of the records where there are any."""
    measured = lab.measured is not None
    evidence = evidence_of(lab, gravity_estimate(data.course)) if measured else None
    for each in advice(findings_of(lab, data.course, evidence), lab.variant.nouns):
        yield note(lab.places[""], f"{lab.id}: {each}")
    for each in on_means(evidence) if evidence is not None else ():
        yield note(lab.places.get("measured", lab.places[""]), f"{lab.id}: {each}")
    if evidence is not None:
        for where, words in on_evidence(lab, evidence.analysis, gravity_of(data.course)):
            yield note(where, f"{lab.id}: {words}")
    if not measured and lab.data_opens is not None:
        words = without_trials("data_opens", lab.data_opens, data.course.zone)
        yield note(lab.places["data_opens"], f"{lab.id}: {words}")
