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
    well_placed,
)
from fallwork.measurement.finding_fit import (
    Fit,
    Readings,
    calm_part,
    fit_stretches,
    residuals,
    until_bend,
    without_spikes,
)
from fallwork.measurement.finding_notes import (
    notes_on_bend,
    notes_on_distance,
    notes_on_edges,
    notes_on_fit,
    notes_on_landing,
)
from fallwork.measurement.finding_pieces import RoughRun, rough_run, run_within
from fallwork.measurement.finding_signals import Signals, aligned, has_gaps, signals_of, summed
from fallwork.measurement.finding_values import (
    LANDING,
    RELEASE,
    Parameters,
    motion_estimates,
    told,
)
from fallwork.measurement.model import Array, Basis, Estimate, FoundRun, Measurand, Record

FEWEST = 12  # readings of motion, without which nothing is looked for
PASSES = 4  # of fitting and moving the stretches
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
    window: tuple[float, float] | None = None  # s, release and end of the driven part, by hand
    basis: Basis | None = None  # None: found out
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
    span = (rough.driven.begin, rough.driven.end)
    signals, signs = aligned(found, rough.sense, known.signs, span)
    return _motion(_Search(signals, rough, known), signs)


def _rough(found: Signals, speed: Readings, known: Looking) -> RoughRun:
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


@dataclass(frozen=True, kw_only=True)
class _Fitted:
    """Lines fitted between edges."""

    basis: Basis
    edges: Edges
    fit: Fit
    stretches: tuple[Readings, ...]  # the readings that were fitted, driven and coasting
    quiet: tuple[Array, ...]  # residuals at rest
    left_out: tuple[float, ...]
    parameters: Parameters


class _Search:
    """A record in which the run is known roughly: the lines, fitted until they stand still."""

    def __init__(self, signals: Signals, rough: RoughRun, known: Looking) -> None:
        self.signals, self.rough, self.known = signals, rough, known
        self.speed, self.corner = signals.rough_speed()

    def refined(self) -> _Fitted:
        """The lines between edges that they bear out."""
        known, speed = self.known, self.speed
        basis = self._first_basis()
        times = known.window or rough_times(self.rough, known.from_rest)
        fitted = self._fitted(basis, edges_for(self.rough, speed, times, None))
        for _ in range(PASSES):
            if basis is Basis.VELOCITY and known.basis is None and self._are_differences(fitted):
                basis = Basis.SUMMED_VELOCITY
            noise = fitted.fit.noise if basis is fitted.basis else None
            moved = edges_for(self.rough, speed, self._times(fitted.parameters), noise)
            if basis is fitted.basis and moved.close_to(fitted.edges, speed.step / 2):
                break
            fitted = self._fitted(basis, moved)
        return fitted

    def _first_basis(self) -> Basis:
        wanted, signals = self.known.basis, self.signals
        if wanted is None:
            summed_up = signals.velocity is None or signals.derived
            return Basis.POSITION if summed_up else Basis.VELOCITY
        if (signals.position if wanted is Basis.POSITION else signals.velocity) is None:
            raise NoRunError(f"it has no {wanted.value.split()[-1]}")
        return wanted

    def _are_differences(self, fitted: _Fitted) -> bool:
        """Whether velocities are differences of positions that the record doesn't give."""
        edges, velocity = fitted.edges, self.signals.velocity
        if not fitted.fit.noise.differences or velocity is None:
            return False
        return not has_gaps(velocity, edges.driven[0], (edges.coasting or edges.driven)[1])

    def _times(self, parameters: Parameters) -> tuple[float, float]:
        """Release and landing as the fitted lines have them, or else the rough ones."""
        if self.known.window is not None:
            return self.known.window
        by_name = dict(zip(parameters.names, parameters.values, strict=True))
        found, rough = told(by_name), rough_times(self.rough, self.known.from_rest)
        release, landing = (
            float(found[name]) if np.isfinite(found[name]) else otherwise
            for name, otherwise in zip((RELEASE, LANDING), rough, strict=True)
        )
        return release, landing

    def _fitted(self, basis: Basis, edges: Edges) -> _Fitted:
        """Lines through the readings between edges; without coasting where it can't be had."""
        degree = DEGREE[basis]
        signal, spikes = self._signal(basis, edges)
        cleaned = [without_spikes(cut(signal, span), degree) for span in edges.moving]
        driven, *coasting = (stretch for stretch, _ in cleaned)
        if len(driven.time) < degree + 2:
            raise NoRunError(TOO_FEW)
        coasting = [until_bend(stretch, degree, like=driven) for stretch in coasting]
        quiet = _quiet(signal, edges, degree)
        fit = fit_stretches([driven, *coasting], degree, quiet)
        if fit is None and not coasting:
            raise NoRunError(TOO_FEW)
        if fit is None or (coasting and not self._meet(fit)):
            return self._fitted(basis, replace(edges, coasting=None))
        if fit.line(0)[0][1] == 0:
            raise NoRunError("the speed of its driven part doesn't change")
        return _Fitted(
            basis=basis,
            edges=edges,
            fit=fit,
            stretches=(driven, *coasting),
            quiet=quiet,
            left_out=tuple(sorted([*spikes, *(time for _, left in cleaned for time in left)])),
            parameters=self._parameters(basis, fit, edges),
        )

    def _meet(self, fit: Fit) -> bool:
        """Whether the two lines meet where the driven part seemed to end."""
        (speed, acceleration), (other, coasting) = fit.line(0)[0], fit.line(1)[0]
        bends = acceleration != coasting
        return bends and well_placed(float((other - speed) / (acceleration - coasting)), self.rough)

    def _signal(self, basis: Basis, edges: Edges) -> tuple[Readings, list[float]]:
        """What is fitted; velocities are freed from spikes before they are summed."""
        signal = self.signals.position if basis is Basis.POSITION else self.signals.velocity
        assert signal is not None  # the basis was chosen so
        if basis is not Basis.SUMMED_VELOCITY:
            return signal, []
        spans = edges.moving
        spikes = [time for span in spans for time in without_spikes(cut(signal, span), 1)[1]]
        return summed(signal.part(~np.isin(signal.time, spikes))), spikes

    def _parameters(self, basis: Basis, fit: Fit, edges: Edges) -> Parameters:
        """All fitted numbers, by name."""
        terms = "xva"[-len(fit.parameters[0]) :]
        found = Parameters(values=np.empty(0), covariance=np.empty((0, 0)), dof=fit.dof)
        for name, *one in zip(
            ("driven", "coasting"), fit.parameters, fit.covariances, strict=False
        ):
            found = found.with_more([f"{name} {term}" for term in terms], *one)
        if edges.coasting and basis is Basis.POSITION and fit.noise.time < SMOOTHED:
            found = found.touching()
        if self.known.window is not None:  # each within half a sampling step either way
            for name, time in zip((RELEASE, LANDING), self.known.window, strict=True):
                found = found.with_one(name, time, self.speed.step / 12**0.5)
        else:
            found = self._with_ends(found, fit, edges)
        return self._with_place(found, fit, edges)

    def _with_ends(self, found: Parameters, fit: Fit, edges: Edges) -> Parameters:
        """With a release that isn't from rest, and an end without coasting, if they can be told."""
        line, _ = fit.line(0)
        corner = max(self.corner, fit.noise.reach * self.speed.step)
        if not self.known.from_rest:
            begin = departure(self.speed, line, edges.driven, corner=corner, backward=True)
            found = found.with_one(RELEASE, *(begin or (np.nan, 0.0)))
            if begin is None:
                return found
        if self.known.covered is not None:
            return found.with_one("covered", self.known.covered.value, self.known.covered.u)
        if edges.coasting is None:
            end = departure(self.speed, line, edges.driven, corner=corner)
            found = found.with_one(LANDING, *end) if end else found
        return found

    def _with_place(self, found: Parameters, fit: Fit, edges: Edges) -> Parameters:
        """With the positions of the driven part and before release, where both are known.

        Positions that the sensor has smoothed are left out: where the path is curved they are
        shifted.
        """
        position = self.signals.position
        if position is None or edges.held is None:
            return found
        if "driven x" not in found.names:  # velocities were fitted: positions have their own fit
            stretch, _ = without_spikes(cut(position, edges.driven), 2)
            alone = fit_stretches([stretch], 2, _quiet(position, edges, 2))
            if alone is None:
                return found
            names, fit = ("place x", "place v", "place a"), alone
            found = found.with_more(names, fit.parameters[0], fit.covariances[0])
        before, _ = without_spikes(cut(position, edges.held), 0)
        if fit.noise.time > SMOOTHED or len(before.time) < 3:
            return found
        variance = max(fit.variance, float(before.values.var())) * fit.noise.time
        u = (variance / len(before.time)) ** 0.5
        return found.with_one("before", float(before.values.mean()), u)


def _quiet(signal: Readings, edges: Edges, degree: int) -> tuple[Array, ...]:
    """Residuals while the object is held: what the sensor's noise is like."""
    if edges.held is None:
        return ()
    held = calm_part(without_spikes(cut(signal, edges.held), degree - 1)[0])
    return (residuals(held, degree - 1),) if len(held.time) >= 8 else ()


def _motion(search: _Search, signs: Mapping[str, int]) -> MeasuredMotion:
    """What the lines say, with notes on how they were found."""
    fitted, known, rough = search.refined(), search.known, search.rough
    estimates, other = motion_estimates(fitted.parameters)
    times = {name: estimates.pop(name).value for name in (RELEASE, LANDING) if name in estimates}
    line = fitted.parameters.line("driven")
    assert line is not None  # it is always fitted
    driven, *coasting = fitted.stretches
    run = FoundRun(
        basis=fitted.basis,
        signs=signs,
        release=times.get(RELEASE),
        landing=times.get(LANDING),
        driven=fitted.edges.driven,
        driven_line=line,
        held=fitted.edges.held,
        coasting=(float(coasting[0].time[0]), float(coasting[0].time[-1])) if coasting else None,
        coasting_line=fitted.parameters.line("coasting"),
        left_out=fitted.left_out,
    )
    bent = fit_stretches([driven], DEGREE[fitted.basis] + 1, fitted.quiet)
    notes = [
        *notes_on_fit(run, known.signs, fitted.fit, search.signals.derived),
        *notes_on_edges(run, search.speed, known.window, rough.rivals, rough.held is not None),
        *(notes_on_landing(run) if known.window is None and known.covered is None else ()),
        *notes_on_bend(driven, bent, line[1]),
        *notes_on_distance(estimates.get(Measurand.DISTANCE), other),
    ]
    return MeasuredMotion(run=run, estimates=estimates, notes=tuple(notes))
