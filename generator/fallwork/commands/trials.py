"""Analyses recorded trials, for people as a table, for programs as JSON; and simulates trials as
sensors would write them if the model were true.

Takes paths of CSV files and, if it is known, the scenario that was run or the lab of a term; gives
what to print. A lab's own trials are analysed exactly as for its pages. In the table a value ends
where the two figures of its standard uncertainty end. Simulated records are CSV text, or go into a
new file or new files in a folder; each says first of all that it is simulated, and with which seed.
"""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from fallwork.commands import call
from fallwork.commands.call import Source, Word, Words
from fallwork.errors import BadInput
from fallwork.lesson.measured import Evidence
from fallwork.lesson.measured import words as say
from fallwork.measurement.analysis import UnknownTrialError, analyse, named_trial, trials_json
from fallwork.measurement.model import Estimate, Measurand, Record
from fallwork.measurement.records import of_one_kind, read_all
from fallwork.measurement.settings import Settings
from fallwork.measurement.simulate import Behaviour, csv_of, simulate
from fallwork.measurement.tension import paired
from fallwork.mechanics import apparatus_of, run_of
from fallwork.pages import worked
from fallwork.scenario import CourseData, Lab, Measured
from fallwork.scenario.report import counted
from fallwork.scenario.trials import ALL

_OF_MEANS = ("n", "mean", "standard deviation", "u of the mean", "95 %")
_OF_VERDICTS = ("predicted", "difference", "percent error", "limit", "verdict")


def analysed_trials(
    files: Sequence[Path], *, scenario: Word, term: Word, numbers: Words, json: bool
) -> list[str]:
    """The analysis; with a scenario also what it predicts, except in JSON.

    With a term, the trials are read as its lab says, and without files those of the lab; with
    ``numbers`` such as ``cart.mass=507g``, they are judged by those of a bench.
    """
    if scenario is None:
        if term is not None or numbers or not files:
            raise call.CallError("no-lab" if term or numbers else "no-files")
        records = of_one_kind(read_all(files))
        evidence, figures = Evidence(analysis=analyse(records, Settings())), 3
    else:
        source = call.source_of(scenario, term, numbers)
        gravity, figures = local_gravity(source.course), call.calculation(source.course).figures
        evidence = _evidence(files, source, gravity)
        if not json:
            evidence = worked.with_judgement(evidence, source.scenario, gravity)
            return [source.scenario.worded(_table(evidence, figures))]
    if not json:
        return [_table(evidence, figures)]
    content = trials_json(evidence.analysis)
    content["notes"] += say.on_means(evidence.analysis)
    return call.as_json(content)


def local_gravity(data: CourseData | None) -> Estimate:
    """The course's gravity in m/s²; without a course the standard one, which is exact."""
    if data is None:
        return Estimate(value=call.calculation(None).gravity, u=0.0)
    return worked.gravity_estimate(data.course)


def _evidence(files: Sequence[Path], source: Source, gravity: Estimate) -> Evidence:
    """The trials in the files, read as the lab says of these; or those of the lab."""
    lab, said = source.lab, source.lab.measured if source.lab else None
    if not files:
        if lab is None or said is None:
            raise call.CallError("no-trials", lab=lab.id) if lab else call.CallError("neither")
        return worked.evidence_of(lab, gravity)
    records, measured, notes = read_all(files), Measured(), list[str]()
    if lab is not None and said is not None:
        measured, notes = _about(lab, said, records)
    of_one_kind(records, measured.whose)
    settings = worked.settings_of(source.scenario, gravity, measured)
    analysis = analyse(records, settings)
    if lab is None and any(trial.misfit for trial in analysis.trials):
        notes += call.labs_of(source)
    analysis = replace(analysis, notes=(*notes, *analysis.notes))
    return Evidence(analysis=analysis, whose=measured.whose, sensors=settings.sensors)


def _about(lab: Lab, said: Measured, records: Sequence[Record]) -> tuple[Measured, list[str]]:
    """What is said of these records, and a note for each trial that isn't among them.

    A term speaks of its own records, known by file and line: another file may have the same name.
    """

    def origin(record: Record) -> tuple[Path, int]:
        assert record.place is not None  # it was read from a file
        return Path(record.place.file).resolve(), record.place.line

    said_of = {key: getattr(said, key) for key in ("excluded", "included", "windows")}
    named = [each.trial for every in said_of.values() for each in every]
    meant: dict[str, str | None] = dict.fromkeys(named)
    if not {*meant} - {ALL}:
        return said, []
    given = {origin(pair.record): pair.record.name for pair in paired(records)}
    own = {pair.record.name: pair.record for pair in paired(read_all(said.files))}
    for trial in meant if own else ():  # values that were typed in have no records
        try:
            meant[trial] = given.get(origin(own[named_trial(trial, tuple(own))]))
        except UnknownTrialError as error:
            raise BadInput((worked.unknown_trial(lab, said, error),)) from error
    why = "is not applied: its record isn't among these"
    absent = [trial for trial, name in meant.items() if name is None]
    meant[ALL] = ALL
    kept: dict[str, Any] = {
        key: tuple(replace(each, trial=name) for each in every if (name := meant[each.trial]))
        for key, every in said_of.items()
    }
    return replace(said, **kept), [f"what the term says of trial {trial} {why}" for trial in absent]


# ---- the table


def _table(evidence: Evidence, figures: int) -> str:
    """Every trial, the means, against the prediction if there is one, and what was assumed."""
    analysis, judged = evidence.analysis, evidence.judgement
    trials, means = analysis.trials, analysis.summary
    there = [q for q in Measurand if any(q in trial.estimates for trial in trials)]
    blocks = [[["Trial", *(f"{say.quantity_words(q)} in {say.UNITS[q]}" for q in there)]]]
    for trial in trials:
        name = trial.name if trial.excluded is None else f"{trial.name} (doesn't count)"
        values = (say.in_trial(trial, q, means.get(q), figures) for q in there)
        blocks[0].append([f"  {name}", *values])
    blocks.append([["Mean over the trials", *_OF_MEANS]])
    for quantity, found in means.items():
        unit, deviation = say.UNITS[quantity], found.standard_deviation
        cells = [
            say.number(found),
            say.shown(found, unit, figures),
            "" if deviation is None and found.u is not None else say.size(deviation, unit),
            say.size(found.u, unit),
            say.interval(found.interval_95, found.u, unit, figures),
        ]
        blocks[1].append([f"  {say.quantity_words(quantity)}", *cells])
    blocks.append([["Against the prediction", *_OF_VERDICTS]])
    for quantity, against in judged.comparison.quantities.items() if judged else ():
        overall, unit = against.overall, say.UNITS[quantity]
        cells = [
            say.amount(overall.expected, unit, figures),
            say.shown(overall, unit, figures),
            "" if overall.percent is None else say.size(overall.percent, "%"),
            say.size(overall.limit, unit),
            overall.verdict.value,
        ]
        blocks[2].append([f"  {say.quantity_words(quantity)}", *cells])
    texts = ["\n".join(call.columns(block, 0)) for block in blocks if len(block) > 1]
    if notes := [*analysis.exceptions, *analysis.notes, *say.on_means(evidence.analysis)]:
        texts.append("\n  ".join(["Notes", *notes]))
    simulated = ["The data are simulated."] if evidence.simulated else []
    return "\n\n".join([*simulated, *texts]).replace("\u00a0", " ")


# ---- simulated


def simulated_trials(
    scenario: str,
    *,
    term: Word,
    numbers: Words,
    trials: int,
    seed: int,
    rate: float | None,
    to: Path | None,
) -> list[str]:
    """The CSV text, or where it was written: one file for a name in .csv, else one a trial."""
    source = call.source_of(scenario, term, numbers, trials=False)
    what, course = source.scenario, call.calculation(source.course)
    if not run_of(what, apparatus_of(what, course.gravity)).moves:
        raise call.CallError("nothing-moves", scenario=what.id)
    behaviour = Behaviour()
    if rate is not None:
        behaviour = replace(behaviour, position_rate=rate, force_rate=rate)
    gravity = Estimate(value=course.gravity, u=0.0)
    found = simulate(what, gravity, trials=trials, seed=seed, behaviour=behaviour)
    if to is None:
        return [csv_of(found, seed=seed).rstrip("\n")]
    if to.suffix not in ("", ".csv") and not to.is_dir():
        file, folder = to.with_suffix(".csv"), to.with_suffix("")
        raise call.CallError("file-name", path=to, file=file, folder=folder)
    each = {to / f"{trial.record.name}.csv": [trial] for trial in found}
    files_of = {to: found} if to.suffix == ".csv" else each
    texts = {path: csv_of(of, seed=seed) for path, of in files_of.items()}
    if there := [path for path in texts if path.exists()]:
        raise call.CallError("file-there", path=there[0])
    for path, text in texts.items():
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8", newline="\n")
    made, files = counted(len(found), "simulated trial"), counted(len(texts), "file")
    return [f"{to}: {made} in {files}, seed {seed}"]
