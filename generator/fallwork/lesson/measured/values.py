"""From a record to values: where the run lies, and how each value is got from it.

Takes the set-up and, if there are any, the trials; gives steps in symbols, or worked through for
one trial. What is in the record was found by the measurement stage; here it is told and shown.
"""

import math
from collections.abc import Iterator

import numpy as np

from fallwork.lesson.document import Block, FigureSlot, Paragraph, Step
from fallwork.lesson.expression import Symbol, as_expression
from fallwork.lesson.measured.context import Measuring, table, working
from fallwork.lesson.measured.evidence import Evidence
from fallwork.lesson.measured.facts import Facts
from fallwork.lesson.measured.words import head, sentence, unbroken
from fallwork.lesson.trees import half, product
from fallwork.lesson.words import times_word
from fallwork.measurement.model import Basis, FoundRun, Measurand, Trial

SAME = 1e-9  # relative; two ways to one number
CLOCK = 100  # points of the line are taken at whole hundredths of a second
RECORD, AREA = "record", "record-work"  # kinds of figure


def value_steps(measuring: Measuring) -> Iterator[Step]:
    """The window, then one step for each quantity."""
    if not measuring.facts.moves or not _shows_any(measuring):
        return
    yield measuring.step("window", _window(measuring))
    yield measuring.step("how-acceleration", _acceleration(measuring))
    if _has(measuring, Measurand.FINAL_SPEED):
        yield measuring.step("how-final-speed", _final_speed(measuring))
    if _has(measuring, Measurand.TRAVEL_TIME):
        yield measuring.step("how-distance", _distance(measuring))
    if measuring.facts.has_force and _has(measuring, Measurand.MEAN_TENSION):
        yield measuring.step("how-tension", _tension(measuring))
    if measuring.facts.has_force and _has(measuring, Measurand.WORK_OF_TENSION):
        yield measuring.step("how-work", _work(measuring))


def _shows_any(measuring: Measuring) -> bool:
    return measuring.evidence is None or measuring.evidence.worked is not None


def _has(measuring: Measuring, *quantities: Measurand) -> bool:
    """Whether the step has something to tell: always in symbols, else if the trial has it."""
    if measuring.evidence is None:
        return measuring.facts.from_rest or Measurand.TRAVEL_TIME not in quantities
    worked = measuring.evidence.worked
    return worked is not None and all(quantity in worked.estimates for quantity in quantities)


def _worked(measuring: Measuring) -> tuple[Trial, FoundRun] | None:
    worked = None if measuring.evidence is None else measuring.evidence.worked
    return None if worked is None or worked.run is None else (worked, worked.run)


# ---- where the run lies


def _window(measuring: Measuring) -> Iterator[Block]:
    facts = measuring.facts
    look = "look" if facts.lands else "look-on"
    yield measuring.paragraph(f"window.{look}" if facts.from_rest else "window.look-push")
    if facts.turns_back:
        yield measuring.paragraph("window.look-turns")
    if facts.has_force:
        yield measuring.paragraph("window.spike" if facts.lands else "window.spike-stop")
    yield measuring.paragraph("window.margin" if facts.lands else "window.margin-on")
    found = _worked(measuring)
    if found is None:
        return
    trial, run = found
    yield measuring.paragraph(f"window.{_found(facts, run)}", trial=trial.name)
    yield FigureSlot(kind=RECORD, subject=trial.name)
    yield from _windows(measuring, measuring.trials)


def _found(facts: Facts, run: FoundRun) -> str:
    """The paragraph that says how the run was found."""
    if facts.turns_back:
        return "found-back"
    if run.release is not None and run.coasting is not None:
        return "found"
    return "found-some" if facts.lands or not facts.from_rest else "found-on"


def _windows(measuring: Measuring, evidence: Evidence) -> Iterator[Block]:
    """Where the run lies in each record, and which were set by hand."""
    trials = [trial for trial in evidence.analysis.trials if trial.window is not None]
    by_hand = [trial.name for trial in trials if trial.window_by_hand]
    if by_hand:
        yield measuring.paragraph("window.by-hand", trials=", ".join(by_hand))
    rows = [
        ((unbroken(trial.name),), *((f"{moment:.3f}\u00a0s",) for moment in trial.window))
        for trial in evidence.analysis.trials
        if trial.window is not None
    ]
    if rows:
        columns = head("window.head", "trial", "start", "end")
        yield table(sentence("window.caption"), columns, rows)


# ---- acceleration


def _acceleration(measuring: Measuring) -> Iterator[Block]:
    names = measuring.names
    yield measuring.paragraph("how-acceleration.line")
    found = _worked(measuring)
    symbols = _points(measuring, found[1] if found else None)
    (t_a, v_a), (t_b, v_b) = symbols
    slope = (as_expression(v_b) - v_a) / (as_expression(t_b) - t_a)
    acceleration = names.single(Measurand.ACCELERATION)
    if found is None:
        yield working(measuring.result(acceleration, slope))
        yield measuring.paragraph("how-acceleration.readings")
        if measuring.facts.turns_back:
            yield measuring.paragraph("how-acceleration.turns")
        return
    trial, run = found
    yield measuring.paragraph("how-acceleration.readings")
    if run.basis is Basis.POSITION:
        yield measuring.paragraph("how-acceleration.from-position")
    yield measuring.paragraph(
        "how-acceleration.worked",
        trial=trial.name,
        **{"from": _at(run.driven[0]), "to": _at(run.driven[1])},
    )
    yield working(measuring.result(acceleration, slope))
    estimate = trial.estimates[Measurand.ACCELERATION]
    yield measuring.paragraph(
        "how-acceleration.u", u=measuring.amount_of_u(estimate.u, Measurand.ACCELERATION)
    )
    yield from _whole_record(measuring, trial, run)


def _points(
    measuring: Measuring, run: FoundRun | None
) -> tuple[tuple[Symbol, Symbol], tuple[Symbol, Symbol]]:
    """Two points of the fitted line: time and velocity of each."""
    names = measuring.names
    points: list[tuple[Symbol, Symbol]] = []
    for mark, at in zip("XY", _moments(run), strict=True):
        speed = None if run is None or at is None else run.driven_line[0] + run.driven_line[1] * at
        written = "" if at is None else f"{at:.2f}"
        points.append((names.moment(f"time-{mark}", at, written), names.speed_at(mark, speed)))
    first, second = points
    return first, second


def _moments(run: FoundRun | None) -> tuple[float | None, float | None]:
    """Whole hundredths of a second at the ends of the fitted stretch."""
    if run is None:
        return None, None
    return math.ceil(run.driven[0] * CLOCK) / CLOCK, math.floor(run.driven[1] * CLOCK) / CLOCK


def _at(moment: float) -> str:
    return f"{moment:.2f}\u00a0s"


def _whole_record(measuring: Measuring, trial: Trial, run: FoundRun) -> Iterator[Paragraph]:
    """What a line through everything up to the landing would give."""
    record = trial.record
    if record is None or record.velocity is None or run.held is None or run.landing is None:
        return
    kept = np.isfinite(record.velocity) & (record.time <= run.landing)
    slope = run.signs.get("velocity", 1) * float(
        np.polyfit(record.time[kept], record.velocity[kept], 1)[0]
    )
    wrong = measuring.context.amount(slope, "m/s²")
    yield measuring.paragraph("how-acceleration.whole-record", wrong=wrong)


# ---- final speed, time, distance


def _final_speed(measuring: Measuring) -> Iterator[Block]:
    names = measuring.names
    yield measuring.paragraph("how-final-speed.line")
    found = _worked(measuring)
    run = found[1] if found else None
    (t_a, v_a), _ = _points(measuring, run)
    end = names.moment("landing", None if run is None else run.landing)
    along = as_expression(v_a) + product(
        names.single(Measurand.ACCELERATION), as_expression(end) - t_a
    )
    if found is not None and found[1].landing is not None:
        yield measuring.paragraph(
            "how-final-speed.worked", trial=found[0].name, t=f"{found[1].landing:.3f}\u00a0s"
        )
    yield working(measuring.result(names.single(Measurand.FINAL_SPEED), along))


def _distance(measuring: Measuring) -> Iterator[Block]:
    names = measuring.names
    found = _worked(measuring)
    run = found[1] if found else None
    end = names.moment("landing", None if run is None else run.landing)
    release = names.moment("release", None if run is None else run.release)
    time = names.single(Measurand.TRAVEL_TIME)
    speed, distance = names.single(Measurand.FINAL_SPEED), names.single(Measurand.DISTANCE)
    yield measuring.paragraph("how-distance.time")
    if found is not None:
        yield measuring.paragraph("how-distance.worked", trial=found[0].name)
    yield working(measuring.result(time, as_expression(end) - release))
    if found is not None and Measurand.DISTANCE not in found[0].estimates:
        yield measuring.paragraph("how-distance.given")
        return
    yield measuring.paragraph("how-distance.two-ways")
    if found is None or _is_area(found[0]):
        yield working(measuring.result(distance, half(speed, time)))
    else:
        yield measuring.paragraph(
            "how-distance.positions",
            d=measuring.amount(found[0].estimates[Measurand.DISTANCE], Measurand.DISTANCE),
        )
    facts = measuring.facts
    if facts.goes_as_far or facts.ratio is None:
        yield measuring.paragraph("how-distance.check")
    else:
        yield measuring.paragraph("how-distance.check-ratio", times=times_word(facts.ratio))


def _is_area(trial: Trial) -> bool:
    """Whether the distance was found as the area under the fitted line."""
    values = trial.estimates
    area = values[Measurand.FINAL_SPEED].value * values[Measurand.TRAVEL_TIME].value / 2
    return math.isclose(area, values[Measurand.DISTANCE].value, rel_tol=SAME)


# ---- tension and work


def _tension(measuring: Measuring) -> Iterator[Block]:
    yield measuring.paragraph("how-tension.strips")
    found = _worked(measuring)
    if found is not None:
        trial, _ = found
        mean = trial.estimates[Measurand.MEAN_TENSION]
        yield measuring.paragraph(
            "how-tension.worked",
            trial=trial.name,
            T=measuring.amount(mean, Measurand.MEAN_TENSION),
        )
        yield FigureSlot(kind=AREA, subject=trial.name)
    yield measuring.paragraph("how-tension.time")
    over_time = found[0].estimates.get(Measurand.TENSION_OVER_TIME) if found else None
    if over_time is not None:
        words = measuring.amount(over_time, Measurand.TENSION_OVER_TIME)
        yield measuring.paragraph("how-tension.over-time", J=words)
    yield measuring.paragraph("how-tension.before")
    if measuring.facts.turns_back:
        yield measuring.paragraph("how-tension.turns")


def _work(measuring: Measuring) -> Iterator[Block]:
    names = measuring.names
    found = _worked(measuring)
    yield measuring.paragraph("how-work.product")
    if found is not None:
        yield measuring.paragraph("how-work.worked", trial=found[0].name)
    tension, distance = names.single(Measurand.MEAN_TENSION), names.single(Measurand.DISTANCE)
    if found is not None and Measurand.DISTANCE not in found[0].estimates:
        pull, work = (
            found[0].estimates[q].value for q in (Measurand.MEAN_TENSION, Measurand.WORK_OF_TENSION)
        )
        distance = names.covered(work / pull)
    yield working(
        measuring.result(names.single(Measurand.WORK_OF_TENSION), product(tension, distance))
    )
    if measuring.facts.turns_back:
        back = measuring.facts.pulled_back
        yield measuring.paragraph("how-work.turns-held" if back else "how-work.turns")
    elif measuring.facts.pulled_back:
        yield measuring.paragraph("how-work.against")
    yield measuring.paragraph("how-work.not-time")
