"""What is worth knowing of the trials of a lab: what isn't of it, what doesn't go together, what is
copied from another lab.

Takes labs with their analysed trials; gives lines of text, each with its place.
"""

from collections.abc import Iterator

from fallwork.errors import Place
from fallwork.lesson.words import listing
from fallwork.measurement.limits import Limits, limits_of
from fallwork.measurement.misfit_notes import expected
from fallwork.measurement.misfits import doubtful
from fallwork.measurement.model import Analysis, Measurand, Misfit
from fallwork.measurement.typed import MEASURANDS
from fallwork.measurement.view import driven_phases, turns_round, view_of
from fallwork.mechanics import apparatus_of, solve
from fallwork.scenario import CourseData, GivenMean, Lab, Measured

FEWEST = 3  # values: so many don't come out the same twice
KEYS = {measurand: key for key, measurand in MEASURANDS.items()}  # in a term file
REMEDY = "write exclude: [{{trial: {name}, because: …}}], or the same after include: if it is right"
WHICH_MEANS = (
    "the run turns round: acceleration is taken as that of the way back, after the turn, and "
    "tension as the mean over the distance of the whole run, its work divided by the distance from "
    "start to end, which needn't lie between the tensions out and back"
)


def on_evidence(lab: Lab, analysis: Analysis, gravity: float) -> Iterator[tuple[Place, str]]:
    """Of a lab's trials."""
    limits, block = limits_of(lab.variant, gravity), lab.places["measured"]
    for call, trial in analysis.by_call.items():
        if trial.set_aside and trial.misfit:
            where = _place(lab, trial.misfit, trial.name)
            told = f"{call} doesn't count: {_told(trial.misfit, limits)}"
            yield where, f"{told}; {REMEDY.format(name=trial.name)}"
    for words in (*analysis.doubts, *doubtful(analysis, limits)):
        yield block, words
    if analysis.summary and not any(trial.record for trial in analysis.trials):
        solution = solve(apparatus_of(lab.variant, gravity))
        if turns_round(driven_phases(solution), view_of(lab.variant)):
            yield block, WHICH_MEANS


def _told(misfit: Misfit, limits: Limits) -> str:
    """With what the lab's numbers give for each value that is off."""
    given = {name: limits[name] for name in misfit.of if name in limits}
    return f"{misfit}; {expected(given)}" if given else str(misfit)


def _place(lab: Lab, misfit: Misfit, entry: str) -> Place:
    """Of a typed value itself; else of all that is said of the trials."""
    key = next((KEYS[Measurand(name)] for name in misfit.of if name in KEYS), "")
    at = str(int(entry) - 1) if entry.isdigit() else "value"
    return lab.places.get(f"measured.{key}.{at}", lab.places["measured"])


# ---- copied


def copied(data: CourseData) -> Iterator[tuple[Place, str]]:
    """Of every lab whose trials are those of a lab before it."""
    labs = [
        (f"{lab.id} in {term.id}", lab, lab.measured)
        for term in data.terms
        for lab in term.labs
        if lab.measured
    ]
    labs.sort(key=lambda each: each[1].opens)
    for at, (_, lab, measured) in enumerate(labs):
        for name, _, earlier in labs[:at]:
            same = _same(measured, earlier)
            if same:
                words = f"{lab.id}: {same} are those of {name}"
                yield lab.places["measured"], f"{words}; were they measured in this lab too?"


def _same(one: Measured, other: Measured) -> str:
    """What two labs have in common that can't be by chance; "" for nothing."""
    files = {*one.digests.values()} & {*other.digests.values()}
    if files:
        return (
            f"{len(files)} of the files with trials" if len(files) > 1 else "the trials in a file"
        )
    values, others = _values(one), _values(other)
    keys = [key for key, each in values.items() if each == others.get(key)]
    lists = [key for key in keys if len(values[key]) >= FEWEST]
    found = keys if lists or len(keys) > 1 else []
    return f"the values of {listing(found)}" if found else ""


def _values(measured: Measured) -> dict[str, tuple[float | None, ...]]:
    """What was typed in, in SI units; of a mean the one value."""
    return {
        key: (each.value.value,)
        if isinstance(each, GivenMean)
        else tuple(None if q is None else q.value for q in each)
        for key, each in measured.values.items()
    }
