"""What is worth knowing where nothing is wrong: what happens, and a note for each doubt.

Takes scenarios, labs with their trials and terms; gives lines of text, each note with its place.
"""

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from functools import partial
from itertools import chain

from fallwork.commands.call import calculation
from fallwork.errors import Place, said
from fallwork.lesson.measured.words import on_means
from fallwork.lesson.reviewing import advice, doubt_in_words, happening
from fallwork.lesson.safety import SafetyLab
from fallwork.measurement.limits import limits_of
from fallwork.measurement.misfits import doubtful
from fallwork.measurement.model import Estimate, Measurand
from fallwork.measurement.prediction import driven_phases, view_of
from fallwork.measurement.saying import number, say
from fallwork.measurement.typed import MEASURANDS
from fallwork.mechanics import apparatus_of, solve
from fallwork.mechanics.course import gravity_of
from fallwork.once import once
from fallwork.pages.variants import alike
from fallwork.pages.worked import evidence_of, findings_of, gravity_estimate, reviewed
from fallwork.planning.plausible import Doubt, doubtful_dates, doubts, doubts_of_course
from fallwork.planning.results import example_in
from fallwork.planning.revealed import revealed
from fallwork.scenario import Course, CourseData, GivenMean, Lab, Measured, Scenario, Slider, Term
from fallwork.scenario.report import listed

Noted = Iterator[tuple[Place | str, str]]  # a place, and what is to be known there
_said = partial(said, "commands")
FEWEST, _SEVERAL = 3, 2  # values, and lists or files: so many don't come out the same twice
KEYS = {measurand: key for key, measurand in MEASURANDS.items()}  # in a term file


def note(where: Place | str, words: str) -> str:
    """A line about something that may be meant, but should be known."""
    return f"{where}: note: {words}".replace("\u00a0", " ")


def on_course(data: CourseData, now: datetime) -> Iterator[str]:
    """What happens in each lab and in each scenario that no lab uses; then all notes."""
    labs = [(term, lab) for term in data.terms for lab in term.labs]
    for term, lab in labs:
        yield f"{term.id}/{lab.id}: {_happens(lab.variant, data)}"
    given = {lab.scenario.id for _, lab in labs}
    spare = [scenario for name, scenario in data.scenarios.items() if name not in given]
    for scenario in spare:
        yield f"scenarios/{scenario.id}: {_happens(scenario, data)}"
    noted: list[Noted] = [_doubts("course.yaml", doubts_of_course(data.course))]
    for scenario in data.scenarios.values():
        file = f"{data.root}/scenarios/{scenario.id}.yaml"
        noted += [_on_numbers(file, scenario)]
        noted += [_on_design(file, scenario, data)] if scenario in spare else []
    noted += [*(_on_term(term, data) for term in data.terms), _copied(data)]
    noted += [((each.place, str(each)) for each in revealed(data, now))]
    yield from (note(*each) for each in chain(*noted))


def on_scenario(file: str, scenario: Scenario, data: CourseData | None) -> Iterator[str]:
    """What happens with a scenario's own numbers, and all notes."""
    yield f"{file}: {_happens(scenario, data)}"
    found = (*_on_numbers(file, scenario), *_on_design(file, scenario, data))
    yield from (note(*each) for each in found)


def _doubts(file: str, found: Iterable[Doubt]) -> Noted:
    return ((each.place or file, doubt_in_words("number", each)) for each in found)


def _happens(scenario: Scenario, data: CourseData | None) -> str:
    return " ".join(_says("sentence", scenario, *calculation(data)))


@once
def _says(what: str, scenario: Scenario, gravity: float, figures: int) -> Sequence[str]:
    return happening(scenario, gravity, figures).says(what)


def _on_numbers(file: str, scenario: Scenario) -> Noted:
    yield from _doubts(file, doubts(scenario))
    the = scenario.nouns.the
    for name, body in scenario.objects.items():
        if not isinstance(body, Slider):
            continue
        ends = {
            f"starts_at of {name}": body.starts_at,
            f"length of {body.runs_on}": scenario.surfaces[body.runs_on].length,
        }
        if missing := " and ".join(what for what, value in ends.items() if value is None):
            told = {"missing": missing, "the_object": the(name), "the_surface": the(body.runs_on)}
            yield scenario.places.get(name, file), _said("end-unknown", **told)


def _on_design(file: str, scenario: Scenario, data: CourseData | None) -> Noted:
    """The design of a scenario's own numbers."""
    gravity = Estimate(value=calculation(data).gravity, u=0.0)  # of no course exact
    gravity = gravity_estimate(data.course) if data else gravity
    (found,) = reviewed([scenario], gravity, data)
    where = scenario.places.get("run", file)
    short = _says("short", scenario, *calculation(data))
    told = (*short, *advice(found, scenario.nouns))
    yield from ((where, scenario.nouns.worded(words)) for words in told)


def _on_term(term: Term, data: CourseData) -> Noted:
    for doubt in doubtful_dates(term):
        words = doubt_in_words("date", doubt, term.id, data.course.zone)
        yield doubt.place, f"{doubt.lab}: {words}"
    for lab in term.labs:
        yield from on_lab(term, lab, data)


def on_lab(term: Term, lab: Lab, data: CourseData) -> Noted:
    """All that there is to know of a lab but for its dates and what other pages show of it."""
    if [each.title for each in term.labs].count(lab.title) > 1:
        yield lab.places[""], _said("same-title", lab=lab.id)
    example = example_in(data, term.id, lab)
    evidence = evidence_of(lab, gravity_estimate(data.course)) if lab.measured else None
    reviews, shared = findings_of(lab, data, evidence), alike(lab, data.course)
    for name, each in {"": lab, **lab.by_variant}.items():
        of, at = (f"{lab.id}, variant {name}", f"variants.{name}") if name else (lab.id, "")
        said = (*advice(reviews[name], lab.variant.nouns), *shared.get(name, ()))
        design = ((lab.places[""], words) for words in said)
        trials = () if name else _on_trials(lab, data)
        for where, words in (*_on_runs(each, example, data), *design, *trials):
            place = lab.places[at] if where == lab.places[""] else where
            yield place, f"{of}: {lab.variant.nouns.worded(words)}"


def _on_runs(lab: Lab, example: Scenario, data: CourseData) -> Noted:
    """Where a run isn't its scenario's or its example's, or ends too early; doubtful numbers."""
    told = _runs(lab.variant, lab.scenario, example, data.course)
    yield from ((lab.places[""], words) for words in told)
    known = {None, *lab.scenario.places.values()}
    every = dict.fromkeys((*doubts(lab.variant), *doubts(example)))
    yield from _doubts("", (doubt for doubt in every if doubt.place not in known))


@once
def _runs(
    variant: Scenario, scenario: Scenario, example: Scenario, course: Course
) -> Sequence[str]:
    run, own, shown = (
        happening(each, gravity_of(course), course.significant_figures)
        for each in (variant, scenario, example)
    )
    told = [*run.says("short"), *run.says("otherwise", own, "scenario")]
    told += run.says("otherwise", shown, "example")
    if shown.parts[-1].phase.ends != run.parts[-1].phase.ends:
        told += [f"example: {words}" for words in shown.says("short")]
    for fall in run.seen_as(SafetyLab, safety=course.safety).heavy_ones:
        names = {"the_object": variant.nouns.the(fall.name), "energy": fall.row[1]}
        told.append(_said("heavy", **names, limits=course.safety.heavy_from))
    return told


def _on_trials(lab: Lab, data: CourseData) -> Noted:
    """What isn't of the lab or doesn't go together."""
    if measured := lab.measured:
        block, paths = lab.places["measured"], [*map(str, measured.files)]
        for key, words in _on_evidence(lab, gravity_estimate(data.course), paths):
            yield lab.places.get(key, block), words
    elif lab.data_opens is not None:
        words = doubt_in_words("no_trials", "data_opens", lab.data_opens, data.course.zone)
        yield lab.places["data_opens"], words


@once
def _on_evidence(lab: Lab, gravity: Estimate, paths: Sequence[str]) -> list[tuple[str, str]]:
    """Keys of the term file, and what is to be known there; ``paths`` are those of the records."""
    analysis, limits = evidence_of(lab, gravity).analysis, limits_of(lab.variant, gravity.value)
    told = [("measured", words) for words in on_means(analysis)]
    for call, trial in analysis.by_call.items():
        if trial.set_aside and (misfit := trial.misfit):
            # With what the lab's numbers give for each value that is off, at a typed value itself.
            names = dict.fromkeys(name for name, _ in misfit.off if name in limits)
            values = " and ".join(number(limits[name].value, name) for name in names)
            why = f"{misfit}; {say('expected', values=values)}" if values else str(misfit)
            key = next((KEYS[Measurand(name)] for name, _ in misfit.off if name in KEYS), "")
            at = str(int(trial.name) - 1) if trial.name.isdigit() else "value"
            words = _said("out-of-the-lab", call=call, why=why, name=trial.name)
            told.append((f"measured.{key}.{at}", words))
    told += [("measured", words) for words in (*analysis.doubts, *doubtful(analysis, limits))]
    if analysis.summary and not any(trial.record for trial in analysis.trials):
        solution = solve(apparatus_of(lab.variant, gravity.value))
        if view_of(lab.variant).turns_round(driven_phases(solution)):
            told.append(("measured", _said("which-means")))
    return told


def _copied(data: CourseData) -> Noted:
    """Labs that have trials in common with a lab before them which can't be alike by chance."""
    labs = [
        (f"{lab.id} in {term.id}", lab, lab.measured)
        for term in data.terms
        for lab in term.labs
        if lab.measured
    ]
    labs.sort(key=lambda each: each[1].opens)
    for at, (_, lab, measured) in enumerate(labs):
        for name, _, earlier in labs[:at]:
            files = {*measured.digests.values()} & {*earlier.digests.values()}
            same = f"{len(files)} of the files with trials"
            if len(files) < _SEVERAL:
                same = "the trials in a file" if files else ""
            values, others = _typed(measured), _typed(earlier)
            keys = [key for key, each in values.items() if each == others.get(key)]
            if len(keys) >= _SEVERAL or any(len(values[key]) >= FEWEST for key in keys):
                same = same or f"the values of {listed(keys)}"
            if same:
                words = _said("copied", lab=lab.id, same=same, other=name)
                yield lab.places["measured"], words


def _typed(measured: Measured) -> dict[str, list[float | None]]:
    """The values that were typed in, by their keys."""
    said = measured.values.items()
    given = {key: (v.value,) if isinstance(v, GivenMean) else v for key, v in said}
    return {key: [each.value if each else None for each in values] for key, values in given.items()}
