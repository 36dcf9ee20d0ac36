"""Finds the run in a record: release, driven part, landing, coasting.

Takes a record; gives where the run lies and what its motion says, with uncertainties. The model is
continuous and made of pieces: at rest, driven with constant acceleration, coasting with another.
Lines are fitted inside the pieces, at a distance from their ends, where sensors that smooth round
the corners off and where spikes sit; release and landing are where the lines meet. Forces are left
to ``tension``.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from fallwork.measurement.finding_edges import (
    Edges,
    cut,
    departure,
    edges_for,
    rough_times,
    step_of,
    well_placed,
)
from fallwork.measurement.finding_fit import (
    Fit,
    Stretch,
    calm_part,
    fit_stretches,
    until_bend,
    without_spikes,
)
from fallwork.measurement.finding_notes import (
    notes_on_basis,
    notes_on_bend,
    notes_on_distance,
    notes_on_edges,
    notes_on_landing,
    notes_on_nudge,
    notes_on_signs,
    notes_on_spikes,
)
from fallwork.measurement.finding_signals import Signals, aligned, has_gaps, signals_of, summed
from fallwork.measurement.finding_stretches import RoughRun, rough_run, run_within
from fallwork.measurement.finding_values import Lines, Parameters, held_to, motion_estimates
from fallwork.measurement.model import Array, Basis, Estimate, FoundRun, Record

FEWEST = 12  # readings of motion, without which nothing is looked for
PASSES = 4  # of fitting and moving the stretches
SMOOTHED = 2.0  # samples: positions with a longer memory are shifted where the path is curved
TOO_FEW = "its driven part has too few readings"
DEGREE = {Basis.VELOCITY: 1, Basis.POSITION: 2, Basis.SUMMED_VELOCITY: 2}

WHOLE_RUN = (
    "record from before the release until after the end, or give its window among the windows of "
    "the term"
)
TWO_FILES = (
    "name the file of its motion like it, e.g. motion-3.csv and force-3.csv, or give its window "
    "among the windows of the term"
)


class NoRunError(Exception):
    """A record in which no run can be found; the text says why."""

    def __init__(self, why: str, expected: str = WHOLE_RUN) -> None:
        super().__init__(why)
        self.expected = expected  # what would be right


@dataclass(frozen=True, kw_only=True)
class Looking:
    """What is known of the run before its record is looked at."""

    signs: Mapping[str, int] = field(default_factory=dict)
    # ^ "position", "velocity": ±1 by which they are multiplied; found out where not given
    from_rest: bool = True
    window: tuple[float, float] | None = None  # s, release and end of the driven part, by hand
    basis: Basis | None = None  # None: found out
    covered: Estimate | None = None  # m, where only a distance ends the driven part


@dataclass(frozen=True, kw_only=True)
class Motion:
    """What the motion in a record says."""

    run: FoundRun
    estimates: dict[str, Estimate]  # by Measurand
    notes: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class _Fitted:
    """Lines fitted between edges."""

    basis: Basis
    edges: Edges
    fit: Fit
    driven: Stretch  # the readings to which the driven line was fitted
    coasting: tuple[float, float] | None  # s, as far as it was fitted
    quiet: tuple[Array, ...]  # residuals at rest
    left_out: tuple[float, ...]
    parameters: Parameters


def find_run(record: Record, looking: Looking | None = None) -> Motion:
    """The run in a record; raises NoRunError."""
    known = looking or Looking()
    found = signals_of(record)
    if found is None:
        if record.force is not None:
            raise NoRunError("it is the record of a force sensor alone", TWO_FILES)
        raise NoRunError("it has neither velocities nor positions")
    speed = found.rough_speed
    if len(speed.time) < FEWEST:
        raise NoRunError(f"it has only {len(speed.time)} readings of motion")
    rough = _rough(found, speed, known)
    if known.covered is not None:
        rough = replace(rough, coasting=None)  # whatever follows is no end of the driven part
    span = (rough.driven.begin, rough.driven.end)
    signals, signs = aligned(found, rough.sense, known.signs, span)
    return _motion(signals, signs, rough, known, _refined(signals, rough, known))


def _rough(found: Signals, speed: Stretch, known: Looking) -> RoughRun:
    channel = "position" if found.velocity is None else "velocity"
    senses = (known.signs[channel],) if channel in known.signs else (1, -1)
    if known.window is not None:
        rough = run_within(speed.time, speed.values, known.window, senses)
        if rough is None:
            raise NoRunError("in the window set by hand the speed doesn't grow")
        return rough
    rough = rough_run(speed.time, speed.values, senses=senses, from_rest=known.from_rest)
    if rough is None:
        how = "starts from rest and speeds up" if known.from_rest else "speeds up"
        raise NoRunError(f"nothing in it {how} evenly")
    return rough


def _refined(signals: Signals, rough: RoughRun, known: Looking) -> _Fitted:
    """The lines, fitted again until the stretches stand still."""
    basis = _first_basis(signals, known)
    signal = signals.rough_speed
    times = known.window or rough_times(rough, known.from_rest)
    fitted = _fitted(signals, basis, edges_for(rough, signal, times, None), rough, known)
    for _ in range(PASSES):
        if basis is Basis.VELOCITY and known.basis is None and _to_sum(signals, fitted):
            basis = Basis.SUMMED_VELOCITY
        times = _times_of(fitted.parameters, rough, known)
        memory = fitted.fit.memory if basis is fitted.basis else None
        moved = edges_for(rough, signal, times, memory)
        if basis is fitted.basis and moved.close_to(fitted.edges, step_of(signal) / 2):
            break
        fitted = _fitted(signals, basis, moved, rough, known)
    return fitted


def _first_basis(signals: Signals, known: Looking) -> Basis:
    if known.basis is not None:
        has = signals.position if known.basis is Basis.POSITION else signals.velocity
        if has is None:
            raise NoRunError(f"it has no {known.basis.value.split()[-1]}")
        return known.basis
    if signals.velocity is None or signals.derived:
        return Basis.POSITION
    return Basis.VELOCITY


def _to_sum(signals: Signals, fitted: _Fitted) -> bool:
    """Whether velocities are differences of positions that the record doesn't give."""
    edges = fitted.edges
    if not fitted.fit.memory.differences or signals.velocity is None:
        return False
    last = edges.coasting[1] if edges.coasting else edges.driven[1]
    return not has_gaps(signals.velocity, edges.driven[0], last)


def _times_of(parameters: Parameters, rough: RoughRun, known: Looking) -> tuple[float, float]:
    """Release and landing as the fitted lines have them."""
    if known.window is not None:
        return known.window
    release, landing = rough_times(rough, known.from_rest)
    lines = Lines(parameters=parameters)
    if known.from_rest or parameters.release is not None:
        release = lines.release(parameters.values)
    if lines.lands:
        landing = lines.landing(parameters.values)
    return release, landing


def _fitted(
    signals: Signals, basis: Basis, edges: Edges, rough: RoughRun, known: Looking
) -> _Fitted:
    """Lines through the readings between edges; without coasting where it can't be had."""
    degree = DEGREE[basis]
    signal, left_out = _signal(signals, basis, edges)
    spans = [edges.driven] + ([edges.coasting] if edges.coasting else [])
    cleaned = [without_spikes(cut(signal, span), degree) for span in spans]
    stretches = [stretch for stretch, _ in cleaned]
    if len(stretches[0].time) < degree + 2:
        raise NoRunError(TOO_FEW)
    stretches[1:] = [until_bend(stretch, degree, like=stretches[0]) for stretch in stretches[1:]]
    quiet = _quiet(signal, edges, degree)
    fit = fit_stretches(stretches, degree, quiet)
    if fit is None and edges.coasting is None:
        raise NoRunError(TOO_FEW)
    if fit is None or (edges.coasting and not _meets(fit, rough)):
        return _fitted(signals, basis, replace(edges, coasting=None), rough, known)
    if fit.line(0)[0][1] == 0:
        raise NoRunError("the speed of its driven part doesn't change")
    times = [*left_out, *(time for _, left in cleaned for time in left)]
    return _Fitted(
        basis=basis,
        edges=edges,
        fit=fit,
        driven=stretches[0],
        coasting=(float(stretches[1].time[0]), float(stretches[1].time[-1]))
        if edges.coasting
        else None,
        quiet=quiet,
        left_out=tuple(sorted(times)),
        parameters=_parameters(signals, basis, fit, edges, known),
    )


def _meets(fit: Fit, rough: RoughRun) -> bool:
    (speed, acceleration), _ = fit.line(0)
    (other, coasting), _ = fit.line(1)
    if acceleration == coasting:
        return False
    return well_placed(float((other - speed) / (acceleration - coasting)), rough)


def _signal(signals: Signals, basis: Basis, edges: Edges) -> tuple[Stretch, tuple[float, ...]]:
    """What is fitted; velocities are freed from spikes before they are summed."""
    signal = signals.position if basis is Basis.POSITION else signals.velocity
    assert signal is not None  # the basis was chosen so
    if basis is not Basis.SUMMED_VELOCITY:
        return signal, ()
    spans = [edges.driven] + ([edges.coasting] if edges.coasting else [])
    left_out = tuple(time for span in spans for time in without_spikes(cut(signal, span), 1)[1])
    kept = ~np.isin(signal.time, left_out)
    return summed(Stretch(time=signal.time[kept], values=signal.values[kept])), left_out


def _quiet(signal: Stretch, edges: Edges, degree: int) -> tuple[Array, ...]:
    """Residuals while the object is held: what the sensor's noise is like."""
    if edges.held is None:
        return ()
    held = calm_part(without_spikes(cut(signal, edges.held), degree - 1)[0])
    if len(held.time) < 8:
        return ()
    trend = np.polyfit(held.time - held.time[0], held.values, degree - 1)
    return (held.values - np.polyval(trend, held.time - held.time[0]),)


def _parameters(
    signals: Signals, basis: Basis, fit: Fit, edges: Edges, known: Looking
) -> Parameters:
    """All fitted numbers in one vector."""
    size = len(fit.parameters[0])
    values, covariance = fit.parameters[0], fit.covariances[0]
    found = Parameters(
        values=values, covariance=covariance, dof=fit.dof, driven=(size - 2, size - 1)
    )
    if edges.coasting is not None:
        found = replace(
            found.with_more(fit.parameters[1], fit.covariances[1]),
            coasting=(2 * size - 2, 2 * size - 1),
        )
        if basis is Basis.POSITION and fit.memory.length < SMOOTHED:
            found = held_to(_gap, found)
    if known.window is not None:
        found = _with_window(found, known.window, step_of(signals.rough_speed))
    else:
        found = _with_begin_and_end(found, signals, fit, edges, known)
    return _with_place(found, signals, fit, edges)


def _gap(p: Array) -> float:
    """How far two parabolas (numbers 0 to 2 and 3 to 5) are from touching: the path has no jump."""
    c0, c1, c2 = p[3:6] - p[:3]
    return float(c1 * c1 - 2 * c0 * c2)


def _with_window(found: Parameters, window: tuple[float, float], step: float) -> Parameters:
    """With release and end set by hand: each within half a sampling step either way."""
    at = len(found.values)
    more = found.with_more(np.array(window), np.eye(2) * step**2 / 12)
    return replace(more, release=at, landing=at + 1)


def _with_begin_and_end(
    found: Parameters, signals: Signals, fit: Fit, edges: Edges, known: Looking
) -> Parameters:
    """With a release that isn't from rest, and an end without coasting, if they can be told."""
    line, _ = fit.line(0)
    speed = signals.rough_speed
    corner = max(signals.corner, fit.memory.reach * step_of(speed))
    if not known.from_rest:
        begin = departure(speed, line, edges.driven, corner=corner, backward=True)
        if begin is None:
            return found
        found = replace(_with_time(found, begin), release=len(found.values))
    if known.covered is not None:
        return replace(
            _with_time(found, (known.covered.value, known.covered.u)), covered=len(found.values)
        )
    end = None
    if edges.coasting is None:
        end = departure(speed, line, edges.driven, corner=corner)
    return found if end is None else replace(_with_time(found, end), landing=len(found.values))


def _with_time(found: Parameters, estimate: tuple[float, float]) -> Parameters:
    """With one more number: its value and standard uncertainty."""
    return found.with_more(np.array([estimate[0]]), np.array([[estimate[1] ** 2]]))


def _with_place(found: Parameters, signals: Signals, fit: Fit, edges: Edges) -> Parameters:
    """With the positions of the driven part and before release, where both are known.

    Positions that the sensor has smoothed are left out: where the path is curved they are shifted.
    """
    if signals.position is None or edges.held is None:
        return found
    own = len(found.values)
    first, at = 0, fit
    if len(fit.parameters[0]) == 2:  # velocities were fitted: the positions have a fit of their own
        stretch, _ = without_spikes(cut(signals.position, edges.driven), 2)
        alone = fit_stretches([stretch], 2, _quiet(signals.position, edges, 2))
        if alone is None:
            return found
        found, first, at = found.with_more(alone.parameters[0], alone.covariances[0]), own, alone
    before, _ = without_spikes(cut(signals.position, edges.held), 0)
    if at.memory.length > SMOOTHED or len(before.time) < 3:
        return found
    variance = max(at.variance, float(before.values.var())) * at.memory.length / len(before.time)
    whole = found.with_more(np.array([before.values.mean()]), np.array([[variance]]))
    return replace(whole, place=(first, first + 1, first + 2, len(whole.values) - 1))


def _motion(
    signals: Signals, signs: Mapping[str, int], rough: RoughRun, known: Looking, fitted: _Fitted
) -> Motion:
    parameters, edges = fitted.parameters, fitted.edges
    lines, values = Lines(parameters=parameters), fitted.parameters.values
    released = known.from_rest or parameters.release is not None
    estimates, other = motion_estimates(parameters, released=released)
    line = values[list(parameters.driven)]
    coasting = None if parameters.coasting is None else values[list(parameters.coasting)]
    run = FoundRun(
        basis=fitted.basis,
        signs=dict(signs),
        release=lines.release(values) if released else None,
        landing=lines.landing(values) if lines.lands else None,
        driven=edges.driven,
        driven_line=(float(line[0]), float(line[1])),
        held=edges.held,
        coasting=fitted.coasting,
        coasting_line=None if coasting is None else (float(coasting[0]), float(coasting[1])),
        left_out=fitted.left_out,
    )
    notes = [
        *notes_on_signs(signs, known.signs),
        *_notes_on_run(signals, rough, known, fitted, run),
        *notes_on_distance(estimates, other),
    ]
    return Motion(run=run, estimates=estimates, notes=tuple(notes))


def _notes_on_run(
    signals: Signals, rough: RoughRun, known: Looking, fitted: _Fitted, run: FoundRun
) -> list[str]:
    speed, (rest, acceleration) = signals.rough_speed, run.driven_line
    reached = rest + acceleration * run.driven[1]
    notes = notes_on_basis(fitted.basis, signals, fitted.fit)
    notes += notes_on_edges(rough, speed, run.release, known.window)
    if run.release is not None:
        margin = max(run.driven[0] - run.release, 0.0)
        notes += notes_on_nudge(speed, run.release, margin, reached)
    notes += notes_on_spikes(fitted.left_out)
    if known.window is None and known.covered is None:
        notes += notes_on_landing(run.coasting is not None, run.landing is not None)
    notes += notes_on_bend(fitted.driven, DEGREE[fitted.basis], fitted.quiet, acceleration)
    return notes
