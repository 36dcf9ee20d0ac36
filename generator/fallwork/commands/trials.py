"""Analyses recorded trials: for people as a table, for programs as JSON.

Takes paths of CSV files and, if it is known, the scenario that was run or the lab of a term; gives
the text to print. A lab's own trials are analysed exactly as for its pages.
"""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TypeVar

from fallwork.commands.sources import Source, calculation, source_of
from fallwork.commands.trialstable import trials_table
from fallwork.errors import BadInput, FallworkError
from fallwork.lesson.measured import Evidence
from fallwork.lesson.measured.means import on_means
from fallwork.measurement import Estimate, Record
from fallwork.measurement.analysis import Settings, UnknownTrialError, analyse, named_trial
from fallwork.measurement.joining import paired
from fallwork.measurement.records import of_one_kind, read_all
from fallwork.measurement.trials_json import trials_json
from fallwork.pages.trials import (
    evidence_of,
    gravity_estimate,
    settings_of,
    unknown_trial,
    with_judgement,
)
from fallwork.scenario import CourseData, Excluded, Lab, Measured, Window
from fallwork.scenario.trials import ALL

Told = TypeVar("Told", Excluded, Window)  # what a term says of a trial


@dataclass(eq=False)
class NothingNamedError(FallworkError):
    """A call that names too little to find trials."""

    expected: str

    def __str__(self) -> str:
        return self.expected


def analysed_trials(
    files: Sequence[Path], *, scenario: str | None, term: str | None, as_json: bool
) -> str:
    """The analysis; with a scenario also what it predicts, except in JSON.

    With a term, the trials are read as its lab says, and without files those of the lab.
    """
    if scenario is None:
        if term is not None or not files:
            raise NothingNamedError(
                "name the lab too, with --scenario" if term else "name CSV files"
            )
        records = of_one_kind(read_all(files))
        evidence, figures = Evidence(analysis=analyse(records, Settings())), 3
    else:
        source = source_of(scenario, term)
        gravity, figures = local_gravity(source.course), calculation(source.course).figures
        evidence = _evidence(files, source, gravity)
        if not as_json:
            evidence = with_judgement(evidence, source.scenario, gravity)
    return _json(evidence) if as_json else trials_table(evidence, figures=figures)


def local_gravity(data: CourseData | None) -> Estimate:
    """The course's gravity in m/s²; without a course the standard one, which is exact."""
    if data is None:
        return Estimate(value=calculation(None).gravity, u=0.0)
    return gravity_estimate(data.course)


def _evidence(files: Sequence[Path], source: Source, gravity: Estimate) -> Evidence:
    """The trials in the files, or of the lab where none is named."""
    if files:
        return _of_files(read_all(files), source, gravity)
    if source.lab is None:
        raise NothingNamedError("name CSV files, or with --term the lab whose trials are wanted")
    if source.lab.measured is None:
        raise NothingNamedError(f"{source.lab.id} has no trials in its term; name CSV files")
    return evidence_of(source.lab, gravity)


def _of_files(records: Sequence[Record], source: Source, gravity: Estimate) -> Evidence:
    """Records read as the lab says, as far as it speaks of these."""
    measured, notes = Measured(), list[str]()
    if source.lab is not None and source.lab.measured is not None:
        measured, notes = _about(source.lab, source.lab.measured, records)
    of_one_kind(records, measured.whose)
    settings = settings_of(source.scenario, gravity, measured)
    analysis = analyse(records, settings)
    return Evidence(
        analysis=replace(analysis, notes=(*notes, *analysis.notes)),
        whose=measured.whose,
        sensors=settings.sensors,
    )


def _about(lab: Lab, said: Measured, records: Sequence[Record]) -> tuple[Measured, list[str]]:
    """What is said of these records, and a note for each trial that isn't among them.

    A term speaks of its own records: another file may have the same name.
    """
    told = [each.trial for each in (*said.excluded, *said.included)]
    told = [name for name in (*told, *(each.trial for each in said.windows)) if name != ALL]
    if not told:
        return said, []
    given = {_origin(pair.record): pair.record.name for pair in paired(records)}
    own = {pair.record.name: pair.record for pair in paired(read_all(said.files))}
    meant: dict[str, str | None] = dict.fromkeys(told)
    for trial in meant if own else ():  # values that were typed in have no records
        try:
            meant[trial] = given.get(_origin(own[named_trial(trial, tuple(own))]))
        except UnknownTrialError as error:
            raise BadInput((unknown_trial(lab, said, error),)) from error
    meant[ALL] = ALL
    kept = replace(
        said,
        excluded=_of(meant, said.excluded),
        included=_of(meant, said.included),
        windows=_of(meant, said.windows),
    )
    return kept, [
        f"what the term says of trial {trial} is not applied: its record isn't among these"
        for trial, name in meant.items()
        if name is None
    ]


def _of(meant: Mapping[str, str | None], entries: Sequence[Told]) -> tuple[Told, ...]:
    """Those that are about one of these records, by its name here."""
    return tuple(replace(each, trial=name) for each in entries if (name := meant[each.trial]))


def _origin(record: Record) -> tuple[Path, int]:
    """The file and the line where a record begins."""
    assert record.place is not None  # it was read from a file
    return Path(record.place.file).resolve(), record.place.line


def _json(evidence: Evidence) -> str:
    content = trials_json(evidence.analysis)
    content["notes"] += on_means(evidence)
    return json.dumps(content, indent=2, ensure_ascii=False, allow_nan=False)
