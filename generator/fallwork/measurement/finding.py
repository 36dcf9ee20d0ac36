"""Finds the run in a record: release, driven part, landing, coasting.

Takes a record; gives where the run lies and what its motion says, with uncertainties. The model is
continuous and made of pieces: at rest, driven with constant acceleration, coasting with another.
It is fitted inside the pieces, at a distance from their ends, where sensors that smooth round the
corners off and where spikes sit; release and landing are where the lines meet. Forces are left to
``tension``.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from math import inf

import numpy as np

from fallwork.measurement.finding_fit import (
    Fit,
    Noise,
    Readings,
    Span,
    at_rest,
    fit_stretches,
    until_bend,
    without_spikes,
)
from fallwork.measurement.finding_notes import (
    notes_on_bend,
    notes_on_distance,
    notes_on_edges,
    notes_on_fit,
)
from fallwork.measurement.finding_pieces import RoughRun, rough_run, run_within
from fallwork.measurement.finding_signals import Signals, departure, signals_of, summed
from fallwork.measurement.finding_values import (
    LANDING,
    PLACE,
    RELEASE,
    Parameters,
    motion_estimates,
)
from fallwork.measurement.model import Array, Basis, Estimate, FoundRun, Measurand, Record

FEWEST = 12  # readings of motion, without which nothing is looked for
PASSES = 6  # of fitting and moving the stretches
SETTLED = 0.05  # samples: times that move by less stand still
SMOOTHED = 2.0  # samples: positions of a longer autocorrelation are shifted where a path is curved
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
    window: Span | None = None  # s, release and end of the driven part, by hand
    covered: Estimate | None = None  # m, where only a distance ends the driven part


@dataclass(frozen=True, kw_only=True)
class MeasuredMotion:
    """What the motion in a record says."""

    run: FoundRun
    estimates: dict[str, Estimate]  # by Measurand
    notes: tuple[str, ...]


def find_run(record: Record, looking: Looking | None = None) -> MeasuredMotion:
    """The run in a record; raises NoRunError."""
    known = looking or Looking()
    found = signals_of(record)
    if found is None:
        if record.force is not None:
            raise NoRunError("it is the record of a force sensor alone", TWO_FILES)
        raise NoRunError("it has neither velocities nor positions")
    speed, _ = found.rough_speed()
    if len(speed.time) < FEWEST:
        raise NoRunError(f"it has only {len(speed.time)} readings of motion")
    rough = _rough(found, speed, known)
    if known.covered is not None:
        rough = replace(rough, coasting=None)  # whatever follows is no end of the driven part
    signals, signs = found.aligned(rough, known.signs)
    return _motion(_Search(signals, rough, known), signs)


def _rough(found: Signals, speed: Readings, known: Looking) -> RoughRun:
    channel = "position" if found.velocity is None else "velocity"
    senses = (known.signs[channel],) if channel in known.signs else (1, -1)
    if known.window is not None:
        rough = run_within(speed, known.window, senses)
        why = "in the window set by hand the speed doesn't grow"
    else:
        how = "starts from rest and speeds up" if known.from_rest else "speeds up"
        rough = rough_run(speed, senses=senses, from_rest=known.from_rest)
        why = f"nothing in it {how} evenly"
    if rough is None:
        raise NoRunError(why)
    return rough


@dataclass(frozen=True, kw_only=True)
class _Fitted:
    """The model, fitted between edges."""

    basis: Basis
    edges: Mapping[str, Span]
    fit: Fit
    stretches: tuple[Readings, ...]  # that were fitted: driven, coasting
    quiet: tuple[Array, ...]  # residuals at rest
    left_out: tuple[float, ...]
    parameters: Parameters


class _Search:
    """A record in which the run is known roughly: the model, fitted until its times stand still."""

    def __init__(self, signals: Signals, rough: RoughRun, known: Looking) -> None:
        self.signals, self.rough, self.known = signals, rough, known
        self.speed, self.corner = signals.rough_speed()

    def refined(self) -> _Fitted:
        """The model between edges that it bears out; a part that becomes too short stays."""
        summed_up = self.signals.velocity is None or self.signals.derived
        basis, noise = Basis.POSITION if summed_up else Basis.VELOCITY, None
        rough_times = self.rough.times(from_rest=self.known.from_rest)
        times, settled = self.known.window or rough_times, SETTLED * self.speed.step
        edges, fits = self.rough.stretches(self.speed, times, None), list[_Fitted]()
        while len(fits) < PASSES:
            fits.append(fitted := self._fitted(basis, edges, times[1], noise))
            if basis is Basis.VELOCITY and self._are_differences(fitted):
                basis = Basis.SUMMED_VELOCITY
            times = self.known.window or fitted.parameters.times(rough_times)
            noise = fitted.fit.noise if basis is fitted.basis else None
            edges = {**fitted.edges, **self.rough.stretches(self.speed, times, noise)}
            moved = [np.subtract(edges[part], fitted.edges.get(part, inf)) for part in edges]
            if fits[1:] and basis is fitted.basis and np.max(np.abs(moved)) <= settled:
                return fitted
        # They go to and fro: more readings after the landing tell more.
        return max(fits[-2:], key=lambda each: (len(each.stretches), len(each.stretches[-1].time)))

    def _are_differences(self, fitted: _Fitted) -> bool:
        """Whether velocities are differences of positions that the record doesn't give, and none
        is missing, so that their sum is a position.
        """
        edges, velocity = fitted.edges, self.signals.velocity
        if not fitted.fit.noise.differences or velocity is None:
            return False
        last = edges.get("coasting", edges["driven"])[1]
        steps = np.diff(velocity.within((edges["driven"][0], last)).time)
        return not len(steps) or bool(steps.max() <= 1.9 * np.median(steps))

    def _fitted(
        self, basis: Basis, edges: Mapping[str, Span], end: float, noise: Noise | None
    ) -> _Fitted:
        """The model through the readings between edges, in times that count from the ``end`` of the
        driven part; without coasting where it can't be had. At the end the path has no jump, unless
        its ``noise`` says that the sensor has smoothed it.
        """
        degree = DEGREE[basis]
        signal, spikes = self._signal(basis, edges)
        parts = sorted(edges.keys() - {"held"}, reverse=True)  # driven, coasting
        cleaned = [without_spikes(signal.within(edges[part]), degree) for part in parts]
        driven, *coasting = (stretch for stretch, _ in cleaned)
        if len(driven.time) < degree + 2:
            raise NoRunError(TOO_FEW)
        stretches = (driven, *(until_bend(each, degree, like=driven) for each in coasting))
        quiet = at_rest(signal, edges.get("held"), degree - 1)
        touch = coasting and noise and basis is Basis.POSITION and noise.time < SMOOTHED
        fit = fit_stretches(stretches, degree, quiet, origin=end, smooth=int(bool(touch)))
        speed, bend = (0.0, 0.0) if fit is None else fit.values[-2:].tolist()
        meets = bend != 0 and self.rough.may_end(end - speed / bend)
        if len(parts) > 1 and not meets:
            alone = {part: span for part, span in edges.items() if part != "coasting"}
            return self._fitted(basis, alone, end, noise)
        if fit is None:
            raise NoRunError(TOO_FEW)
        if fit.values[degree] == 0:
            raise NoRunError("the speed of its driven part doesn't change")
        return _Fitted(
            basis=basis,
            edges=edges,
            fit=fit,
            stretches=stretches,
            quiet=quiet,
            left_out=tuple(sorted([*spikes, *(time for _, left in cleaned for time in left)])),
            parameters=self._parameters(basis, fit, edges, end),
        )

    def _signal(self, basis: Basis, edges: Mapping[str, Span]) -> tuple[Readings, list[float]]:
        """What is fitted; velocities are freed from spikes before they are summed."""
        signal = self.signals.position if basis is Basis.POSITION else self.signals.velocity
        assert signal is not None  # the basis was chosen so
        if basis is not Basis.SUMMED_VELOCITY:
            return signal, []
        parts = (signal.within(span) for part, span in edges.items() if part != "held")
        spikes = [time for part in parts for time in without_spikes(part, 1)[1]]
        return summed(signal.part(~np.isin(signal.time, spikes))), spikes

    def _parameters(
        self, basis: Basis, fit: Fit, edges: Mapping[str, Span], end: float
    ) -> Parameters:
        """All fitted numbers, by name."""
        driven = "xva"[2 - DEGREE[basis] :]
        more = driven[2 * len(driven) - len(fit.values) :]  # of the coasting line, if there is one
        names = (*driven, *(f"d{term}" for term in more))
        found = Parameters(names=names, values=fit.values, covariance=fit.covariance, origin=end)
        if self.known.window is not None:  # each within half a sampling step either way
            for name, time in zip((RELEASE, LANDING), self.known.window, strict=True):
                found = found.with_one(name, time - end, self.speed.step / 12**0.5)
        else:
            found = self._with_ends(found, fit, edges)
        return self._with_place(found, fit, edges)

    def _with_ends(self, found: Parameters, fit: Fit, edges: Mapping[str, Span]) -> Parameters:
        """With a release that isn't from rest, and an end without coasting, if they can be told."""
        line, driven = found.lines()[0], edges["driven"]
        corner = max(self.corner, fit.noise.reach * self.speed.step)
        if not self.known.from_rest:
            begin = departure(self.speed, line, driven, corner=corner, backward=True)
            time, u = begin or (np.nan, 0.0)
            found = found.with_one(RELEASE, time - found.origin, u)
            if begin is None:
                return found
        if self.known.covered is not None:
            return found.with_one("covered", self.known.covered.value, self.known.covered.u)
        end = None if "coasting" in edges else departure(self.speed, line, driven, corner=corner)
        return found.with_one(LANDING, end[0] - found.origin, end[1]) if end else found

    def _with_place(self, found: Parameters, fit: Fit, edges: Mapping[str, Span]) -> Parameters:
        """With the positions of the driven part and before release, where both are known.

        Positions that the sensor has smoothed are left out: where the path is curved they are
        shifted.
        """
        position = self.signals.position
        if position is None or "held" not in edges:
            return found
        if "x" not in found.names:  # velocities were fitted: positions have their own fit
            stretch, _ = without_spikes(position.within(edges["driven"]), 2)
            quiet = at_rest(position, edges["held"], 1)
            alone = fit_stretches([stretch], 2, quiet, origin=found.origin)
            if alone is None:
                return found
            fit, found = alone, found.with_more(PLACE, alone.values, alone.covariance)
        before, _ = without_spikes(position.within(edges["held"]), 0)
        if fit.noise.time > SMOOTHED or len(before.time) < 3:
            return found
        variance = max(fit.variance, float(before.values.var())) * fit.noise.time
        u = (variance / len(before.time)) ** 0.5
        return found.with_one("before", float(before.values.mean()), u)


def _motion(search: _Search, signs: Mapping[str, int]) -> MeasuredMotion:
    """What the lines say, with notes on how they were found."""
    fitted, known, rough = search.refined(), search.known, search.rough
    edges, parameters, fit = fitted.edges, fitted.parameters, fitted.fit
    estimates, other = motion_estimates(parameters, fit.dof)
    release, landing = (time if np.isfinite(time) else None for time in parameters.times())
    line, *others = parameters.lines()
    driven, *coasting = fitted.stretches
    run = FoundRun(
        basis=fitted.basis,
        signs=signs,
        release=release,
        landing=landing,
        driven=edges["driven"],
        driven_line=line,
        held=edges.get("held"),
        coasting=(float(coasting[0].time[0]), float(coasting[0].time[-1])) if coasting else None,
        coasting_line=others[0] if others else None,
        left_out=fitted.left_out,
    )
    lands = known.window is None and known.covered is None
    notes = [
        *notes_on_fit(run, known.signs, fit, search.signals.derived),
        *notes_on_edges(run, search.speed, known.window, rough, lands),
        *notes_on_bend(driven, fitted.quiet, DEGREE[fitted.basis] + 1, line[1]),
        *notes_on_distance(estimates.get(Measurand.DISTANCE), other),
    ]
    return MeasuredMotion(run=run, estimates=estimates, notes=tuple(notes))
