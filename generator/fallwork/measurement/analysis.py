"""From records to trials, from trials to their means, and all of it as plain data for programs.

Takes records in SI units and what is known of the set-up; gives an Analysis, with a note on all
that was assumed. A record in which no run can be found is kept and says so, but doesn't count;
where none is left, BadInput says why for each.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import partial
from math import hypot, inf
from typing import Any

from fallwork.errors import BadInput, FallworkError, Place, Problem
from fallwork.measurement import tension
from fallwork.measurement.finding import NoRunError, find_run, since_the_turn
from fallwork.measurement.limits import two_groups
from fallwork.measurement.misfits import Again, Change, misfit_without_run, set_aside
from fallwork.measurement.model import Analysis, Measurand, Outcome, Record, Span, Summary, Trial
from fallwork.measurement.saying import say
from fallwork.measurement.settings import Settings, Zero
from fallwork.measurement.summaries import summaries
from fallwork.scenario.trials import ALL


class UnknownTrialError(FallworkError):
    """A trial is named, by a ``word``, that no record has."""

    def __init__(self, word: str, names: Sequence[str]) -> None:
        super().__init__(f'no trial "{word}"; the trials are {", ".join(names)}')
        self.word, self.names = word, tuple(names)


def named_trial(word: str, names: Sequence[str]) -> str:
    """The name meant by a number or name; raises UnknownTrialError. ``7`` means the one trial whose
    name ends in that number: 7, trial 7 or trial-07.
    """
    if word in names:
        return word
    if word.strip().isdigit():
        ends = {name: name[len(name.rstrip("0123456789")) :] for name in names}
        found = [name for name, end in ends.items() if end and int(end) == int(word)]
        if len(found) == 1:
            return found[0]
    raise UnknownTrialError(word, names)


def analyse(records: Sequence[Record], settings: Settings | None = None) -> Analysis:
    """All trials with their estimates, and the means over those that count. Raises
    UnknownTrialError for settings about a trial that isn't there, and BadInput where not one record
    can be analysed or two files don't go together.
    """
    known = settings or Settings()
    pairs = tension.paired(records)
    names = [pair.record.name for pair in pairs]
    excluded = {named_trial(word, names): why for word, why in known.exclude.items()}
    windows = {named_trial(word, names): span for word, span in known.windows.items()}
    every = known.include.items()
    included = {w if w == ALL else named_trial(w, names): why for w, why in every}
    trials, problems, apart, anew = [], [], [], dict[str, Again]()
    for name, pair in zip(names, pairs, strict=True):
        record, force = pair.record, pair.force or pair.record
        again = anew[name] = partial(_again, pair, known, windows.get(name))
        try:
            trial = _trial(pair, known, windows.get(name))
        except tension.OtherClockError as error:
            place = force.place or Place(file=force.source, line=1, column=1)
            found = say("apart", name=name, error=str(error))
            apart.append(Problem(place, found, say("with-one-clock")))
            continue
        except NoRunError as error:
            trial, likely = _bare(record), ""
            if name not in excluded:
                misfit = misfit_without_run(error, record, known.limits, again)
                trial, likely = replace(trial, misfit=misfit, excluded=str(misfit)), misfit.likely
            told = f"{likely}: " if likely not in ("", error.expected) else ""
            place = record.place or Place(file=record.source or name, line=1, column=1)
            found = f"no run found in {name}: {error}"
            problems.append(Problem(place, found, f"{told}{error.expected}"))
        trials.append(replace(trial, excluded=excluded.get(name, trial.excluded)))
    if apart or len(problems) == len(pairs):
        raise BadInput(tuple(apart or problems))
    return _analysis(set_aside(trials, known.limits, known.signs, included, anew), known)


def _again(
    pair: tension.Pair, known: Settings, window: Span | None, change: Change
) -> Trial | None:
    """The trial of a changed record; None where no run is found in that."""
    force = pair.force and change(pair.force)
    try:
        return _trial(tension.Pair(record=change(pair.record), force=force), known, window)
    except (NoRunError, tension.OtherClockError):
        return None


def _trial(pair: tension.Pair, known: Settings, window: Span | None) -> Trial:
    """One trial; raises NoRunError where neither motion nor force says anything, and
    OtherClockError for two files that don't go together.
    """
    record = pair.record
    trial = replace(_bare(record), window=window, window_by_hand=window is not None)
    if record.position is None and record.velocity is None and window is not None:
        alone = tension.pull_between(record, window, sign=known.signs.get("force"))
        if alone is None:
            raise NoRunError("few-of-force")
        return replace(trial, estimates=alone.estimates, notes=(*trial.notes, *alone.notes))
    if not known.turns:
        return _whole_run(trial, pair, known)
    # The way back starts from rest. Speed, distance and pull belong to the whole run, over which
    # this model isn't one straight line.
    back = replace(known, from_rest=window is None, covered=None)
    motion = find_run(record if window is not None else since_the_turn(record), back, window)
    return replace(
        trial,
        estimates={Measurand.ACCELERATION.value: motion.estimates[Measurand.ACCELERATION]},
        run=replace(motion.run, release=None, landing=None, held=None, coasting=None),
        notes=(*trial.notes, *motion.notes[:1], say("turns")),
    )


def _bare(record: Record) -> Trial:
    return Trial(name=record.name, estimates={}, record=record, notes=record.notes)


def _whole_run(trial: Trial, pair: tension.Pair, known: Settings) -> Trial:
    """What motion and force say from the release on."""
    record, motion = pair.record, find_run(pair.record, known, trial.window)
    run, estimates, notes = motion.run, dict(motion.estimates), motion.notes
    if pair.force is not None:
        record = tension.joined(record, pair.force, run, slack_after=known.slack_after)
    pull = tension.pull_in(record, run, motion.estimates, known)
    zero = None if pull is None else pull.zero
    if pull is not None:
        signs = {**run.signs, "force": pull.sign}
        run = replace(run, signs=signs, force_offset=zero.value if zero else None)
        estimates, notes = {**estimates, **pull.estimates}, (*notes, *pull.notes)
    whole = None if run.release is None or run.landing is None else (run.release, run.landing)
    return replace(
        trial,
        estimates={name.value: estimates[name] for name in Measurand if name in estimates},
        window=whole or run.driven,
        zero_u=zero.u if zero else 0.0,
        record=record,
        run=run,
        notes=(*record.notes, *notes),
    )


def _analysis(trials: Sequence[Trial], known: Settings) -> Analysis:
    """With the means; what was done to the zero of the force is said once for all trials."""
    sensors, tare, notes = known.sensors, known.tare, gathered(trials)
    runs = {trial.name: trial.run.force_offset for trial in trials if trial.run}
    offsets = {name: offset for name, offset in runs.items() if offset is not None}
    if tare is not None:  # what is uncertain about the force by which all trials are zeroed
        sensors = replace(sensors, force_zero=hypot(sensors.force_zero, tare.known.u))
    if tare is not None and offsets:
        said = tension.notes_on_zeros(list(offsets.values()), tare)
        names = _names([*offsets], len(trials))
        notes = (*notes, *(f"{names}: {note}" for note in said))
    told = [trial for trial in trials if trial.estimates and not trial.set_aside]
    counted = [trial for trial in told if trial.excluded is None]
    doubts = tuple(two_groups(counted, known.limits))
    return Analysis(
        trials=tuple(trials),
        summary=summaries(counted, sensors),
        summary_with_excluded=summaries(told, sensors) if len(told) > len(counted) else {},
        zeroed_held=tare is not None and tare.zero is Zero.HELD,
        doubts=doubts,
        notes=(*doubts, *notes),
    )


def gathered(trials: Sequence[Trial]) -> tuple[str, ...]:
    """The notes of all trials, each sentence once with the trials that it is about."""
    about: dict[str, list[str]] = {}
    for trial in trials:
        for note in dict.fromkeys(trial.notes):
            about.setdefault(note, []).append(trial.name)
    return tuple(f"{_names(names, len(trials))}: {note}" for note, names in about.items())


def _names(names: Sequence[str], of: int) -> str:
    return "all trials" if len(names) == of > 1 else ", ".join(names)


def trials_json(analysis: Analysis) -> dict[str, Any]:
    """Dictionaries, lists, texts and numbers in SI units, ready for JSON: ``trials``, ``summary``,
    ``notes``; and the summary with excluded trials if there are any. ``u`` is a standard
    uncertainty and ``dof`` its degrees of freedom, left out where infinite. What isn't known, such
    as the ``u`` of a mean without scatter, gives no entry. Values are not rounded.
    """
    trials, excluded = [], _summaries_json(analysis.summary_with_excluded)
    for trial in analysis.trials:
        about = _known(trial, "name", "window", "window_by_hand", "simulated", "excluded")
        each = trial.estimates.items()
        trials.append(about | {str(name): _known(v, "value", "u", "dof") for name, v in each})
    more = {"summary_with_excluded": excluded} if excluded else {}
    notes = [*analysis.exceptions, *analysis.notes]
    return {"trials": trials, "summary": _summaries_json(analysis.summary), **more, "notes": notes}


def _summaries_json(summaries: Mapping[str, Summary]) -> dict[str, Any]:
    rest = ("standard_deviation", "u", "interval_95", "dof", "effects", "outliers")
    every = summaries.items()
    return {str(q): _known(s, "n") | {"mean": s.value} | _known(s, *rest) for q, s in every}


def _known(of: Outcome | Trial, *names: str) -> dict[str, Any]:
    """What is known of it under these names; tuples as lists."""
    nothing: tuple[Any, ...] = (None, (), {}, inf)
    every = ((name, getattr(of, name)) for name in names)
    known = ((name, v) for name, v in every if v is not False and v not in nothing)
    return {name: [*v] if isinstance(v, tuple) else v for name, v in known}
