"""Finds the run in a record: release, driven part, landing, coasting.

Takes a record; gives where the run lies and what its motion says, with uncertainties. The model is
continuous and made of pieces: at rest, driven with constant acceleration, coasting with another.
It is fitted inside the pieces, at a distance from their ends, where sensors that smooth round the
corners off and where spikes sit; release and landing are where the lines meet. Forces are left to
``tension``.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from math import inf, nan

import numpy as np

from fallwork.measurement import finding_told as told
from fallwork.measurement.finding_fit import Fit, Noise, fit_stretches
from fallwork.measurement.finding_pieces import RoughRun, rough_run
from fallwork.measurement.finding_signals import Readings, Signals, departure, signals_of
from fallwork.measurement.finding_told import Fitted, Parameters, Part
from fallwork.measurement.model import Basis, Estimate, FoundRun, Measurand, Record, Span
from fallwork.measurement.saying import say
from fallwork.measurement.settings import Settings

CALMED = 5  # readings whose median stands for the middle one, so that a spike is no extreme
FEWEST = 12  # readings of motion, without which nothing is looked for
PASSES = 6  # of fitting and moving the stretches
SETTLED = 0.05  # samples: times that move by less stand still
SMOOTHED = 2.0  # samples: positions of a longer autocorrelation are shifted where a path is curved


Edges = Mapping[str, Span]  # of the parts of a run, s
Window = Span | None  # release and end, s, set by hand


class NoRunError(Exception):
    """A record in which no run can be found, for a reason in the table of sentences."""

    def __init__(self, reason: str, expected: str = "whole-run", **names: str | float) -> None:
        super().__init__(say(reason, **names))
        self.expected = say(expected)  # what would be right


@dataclass(frozen=True, kw_only=True)
class MeasuredMotion:
    """What the motion in a record says."""

    run: FoundRun
    estimates: dict[str, Estimate]  # by Measurand
    notes: tuple[str, ...]


def find_run(
    record: Record, settings: Settings | None = None, window: Window = None
) -> MeasuredMotion:
    """The run in a record; raises NoRunError. ``window``: its release and end, s, set by hand."""
    known, found = settings or Settings(), signals_of(record)
    if found is None:
        alone = record.force is not None
        raise NoRunError(*(("force-alone", "two-files") if alone else ("no-motion",)))
    speed, _ = found.rough_speed()
    if len(speed.time) < FEWEST:
        raise NoRunError("few-of-motion", count=len(speed.time))
    channel = "velocity" if "velocity" in found.channels else "position"
    senses = (known.signs[channel],) if channel in known.signs else (1, -1)
    rough = rough_run(speed, senses, from_rest=known.from_rest, window=window)
    if rough is None:
        how = "not-from-rest" if known.from_rest else "not-faster"
        raise NoRunError("not-in-window" if window else how)
    if known.covered is not None:
        rough = replace(rough, coasting=None)  # whatever follows is no end of the driven part
    driven = (rough.driven.begin, rough.driven.end)
    signals, signs = found.aligned(rough.sense, driven, known.signs)
    search = _Search(signals, rough, known, window)
    fitted = search.refined()
    run, (estimates, other) = fitted.run(signs), fitted.parameters.estimates(fitted.fit.dof)
    distance, acceleration = estimates.get(Measurand.DISTANCE), run.driven_line[1]
    notes = (
        *told.notes_on_fit(run, known.signs, fitted.fit, derived=signals.derived),
        *told.notes_on_edges(run, search.speed, rough, window, known.covered is None),
        *told.notes_on_doubts(fitted, acceleration, distance, other),
    )
    return MeasuredMotion(run=run, estimates=estimates, notes=notes)


def since_the_turn(record: Record) -> Record:
    """The record of an object that was pushed away and turns round, without what comes before that;
    as it is where there is no motion in it. The way back is longer than the way out, so the last
    extreme of the position is the end and the other one the turn.
    """
    found = signals_of(record)
    if found is None:
        return record
    place = found.channels.get("position") or found.rough_speed()[0].summed()
    if len(place.time) < CALMED:
        return record
    calm = np.median(np.lib.stride_tricks.sliding_window_view(place.values, CALMED), axis=1)
    turn = place.time[min(int(calm.argmin()), int(calm.argmax())) + CALMED // 2]
    every = {name: getattr(record, name) for name in ("time", "position", "velocity", "force")}
    kept = {name: v[record.time >= turn] for name, v in every.items() if v is not None}
    return replace(record, **kept)


class _Search:
    """A record in which the run is known roughly: the model, fitted until its times stand still."""

    def __init__(self, signals: Signals, rough: RoughRun, known: Settings, window: Window) -> None:
        self.signals, self.rough, self.known, self.window = signals, rough, known, window
        self.position, self.velocity = map(signals.channels.get, ("position", "velocity"))
        self.speed, self.corner = signals.rough_speed()

    def refined(self) -> Fitted:
        """The model between edges that it bears out; a part that becomes too short stays."""
        summed_up = self.velocity is None or self.signals.derived
        basis, noise = Basis.POSITION if summed_up else Basis.VELOCITY, None
        rough_times = self.rough.times(from_rest=self.known.from_rest)
        times, settled = self.window or rough_times, SETTLED * self.speed.step
        edges, fits = self.rough.stretches(self.speed, times, None), list[Fitted]()
        while len(fits) < PASSES:
            fits.append(fitted := self._fitted(basis, edges, times[1], noise))
            if basis is Basis.VELOCITY and fitted.fit.noise.differences and self.velocity:
                # They are differences of unrecorded positions, if there are no gaps.
                begin, end = fitted.edges["driven"]
                end = fitted.edges.get("coasting", (begin, end))[1]
                steps = np.diff(self.velocity.within((begin, end)).time)
                whole = not len(steps) or steps.max() <= 1.9 * np.median(steps)
                basis = Basis.SUMMED_VELOCITY if whole else basis
            times = self.window or fitted.parameters.times(rough_times)
            noise = fitted.fit.noise if basis is fitted.basis else None
            edges = {**fitted.edges, **self.rough.stretches(self.speed, times, noise)}
            moved = [np.subtract(edges[part], fitted.edges.get(part, inf)) for part in edges]
            if fits[1:] and basis is fitted.basis and np.max(np.abs(moved)) <= settled:
                return fitted
        # They go to and fro: more readings after the landing tell more.
        return max(fits[-2:], key=lambda each: (len(each.stretches), len(each.stretches[-1].time)))

    def _fitted(self, basis: Basis, edges: Edges, end: float, noise: Noise | None) -> Fitted:
        """The model through the readings between edges, in times that count from the ``end`` of the
        driven part; without coasting where it can't be had. At the end the path has no jump, unless
        its ``noise`` says that the sensor has smoothed it.
        """
        degree = told.DEGREE[basis]
        signal, spikes = self._signal(basis, edges)
        parts = sorted(edges.keys() - {"held"}, reverse=True)  # driven, coasting
        cleaned = [signal.within(edges[part]).without_spikes(degree) for part in parts]
        driven, *coasting = (stretch for stretch, _ in cleaned)
        if len(driven.time) < degree + 2:
            raise NoRunError("few-of-driven")
        stretches = (driven, *(each.until_bend(degree, like=driven) for each in coasting))
        quiet = signal.at_rest(edges.get("held"), degree - 1)
        touch = coasting and noise and basis is Basis.POSITION and noise.time < SMOOTHED
        fit = fit_stretches(stretches, degree, quiet, origin=end, smooth=int(bool(touch)))
        speed, bend = (0.0, 0.0) if fit is None else fit.values[-2:].tolist()
        meets = bend != 0 and self.rough.may_end(end - speed / bend)
        if len(parts) > 1 and not meets:
            alone = {part: span for part, span in edges.items() if part != "coasting"}
            return self._fitted(basis, alone, end, noise)
        if fit is None or fit.values[degree] == 0:
            raise NoRunError("few-of-driven" if fit is None else "steady")
        driven_line = "xva"[2 - degree :]
        more = driven_line[2 * len(driven_line) - len(fit.values) :]  # of the coasting line
        own: Part = [*driven_line, *(f"d{term}" for term in more)], fit.values, fit.covariance
        lines = Parameters(parts=[own], origin=end)
        ends, places = self._ends(lines, fit, edges), self._places(basis, fit, edges, end)
        return Fitted(
            basis=basis,
            edges=edges,
            fit=fit,
            stretches=stretches,
            quiet=quiet,
            left_out=tuple(sorted([*spikes, *(time for _, left in cleaned for time in left)])),
            parameters=replace(lines, parts=[*lines.parts, *ends, *places]),
        )

    def _signal(self, basis: Basis, edges: Edges) -> tuple[Readings, list[float]]:
        """What is fitted; velocities are freed from spikes before they are summed."""
        signal = self.position if basis is Basis.POSITION else self.velocity
        assert signal is not None  # the basis was chosen so
        if basis is not Basis.SUMMED_VELOCITY:
            return signal, []
        parts = (signal.within(span) for part, span in edges.items() if part != "held")
        spikes = [time for part in parts for time in part.without_spikes(1)[1]]
        return signal.part(~np.isin(signal.time, spikes)).summed(), spikes

    def _ends(self, found: Parameters, fit: Fit, edges: Edges) -> Iterator[Part]:
        """A release that isn't from rest, and an end without coasting, if they can be told."""
        line, driven, origin = found.lines()[0], edges["driven"], found.origin
        corner = max(self.corner, fit.noise.reach * self.speed.step)
        if self.window is not None:  # each within half a sampling step either way
            for name, time in zip((told.RELEASE, told.LANDING), self.window, strict=True):
                yield told.one(name, time - origin, self.speed.step / 12**0.5)
            return
        if not self.known.from_rest:
            begin = departure(self.speed, line, driven, corner=corner, backward=True)
            time, u = begin or (nan, 0.0)
            yield told.one(told.RELEASE, time - origin, u)
            if begin is None:
                return
        if self.known.covered is not None:
            yield told.one("covered", self.known.covered.value, self.known.covered.u)
        elif "coasting" not in edges and (
            end := departure(self.speed, line, driven, corner=corner)
        ):
            yield told.one(told.LANDING, end[0] - origin, end[1])

    def _places(self, basis: Basis, fit: Fit, edges: Edges, end: float) -> Iterator[Part]:
        """The positions of the driven part and before release, where both are known. Positions that
        the sensor has smoothed are left out: where the path is curved they are shifted.
        """
        if self.position is None or "held" not in edges:
            return
        if basis is not Basis.POSITION:  # positions have their own fit
            stretch, _ = self.position.within(edges["driven"]).without_spikes(2)
            quiet = self.position.at_rest(edges["held"], 1)
            alone = fit_stretches([stretch], 2, quiet, origin=end)
            if alone is None:
                return
            fit = alone
            yield told.PLACE, fit.values, fit.covariance
        before, _ = self.position.within(edges["held"]).without_spikes(0)
        if fit.noise.time <= SMOOTHED and len(before.time) >= 3:
            variance = max(fit.variance, float(before.values.var())) * fit.noise.time
            u = (variance / len(before.time)) ** 0.5
            yield told.one("before", float(before.values.mean()), u)
