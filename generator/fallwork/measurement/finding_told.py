"""What the fitted lines of a run say: values with uncertainties, and sentences on how they were
found.

Takes fitted numbers with their covariance; gives acceleration, final speed, travel time, distance
and coasting by linear propagation (JCGM 100:2008, 5.2.2), correlations included. Takes the fitted
run; gives assumptions, and doubts about its record.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import inf, isfinite, isnan, nan

import numpy as np

from fallwork.measurement.finding_fit import Fit, fit_stretches
from fallwork.measurement.finding_pieces import RoughRun
from fallwork.measurement.finding_signals import Readings
from fallwork.measurement.model import Array, Basis, Estimate, FoundRun, Measurand, Span
from fallwork.measurement.propagation import Input, linear
from fallwork.measurement.saying import say
from fallwork.measurement.statistics import quantile

RELEASE, LANDING = "release", "landing"
DEGREE = {Basis.VELOCITY: 1, Basis.POSITION: 2, Basis.SUMMED_VELOCITY: 2}
PLACE = ("place x", "place v", "place a")
OF_SPEEDS, OF_PLACES = "distance of speeds", "distance of places"
SURE = 0.9995  # probability (one side) at which a bend, a trend or an offset is no accident
BENT = 0.02  # relative change of the acceleration that is worth a word
NUDGE = 0.08  # of the final speed: faster than this before release is worth a word
SHARED = 1.5  # readings that share their noise: more is worth a word
FEW = 4  # degrees of freedom below which an uncertainty is itself very uncertain
APART = 4.0  # standard uncertainties between two distances that are worth a word

# Names, values (n,) and their covariance (n, n), in m, m/s, m/s² and s; parts are independent.
Part = tuple[Sequence[str], Array, Array]


@dataclass(frozen=True, kw_only=True)
class Parameters:
    """All fitted numbers of a trial, by name; times count from ``origin``. ``x``, ``v`` and ``a``
    are position, speed and acceleration of the driven line at time 0 (no position where velocities
    were fitted), ``dv`` and ``da`` what the coasting line has more, and ``place x``, … another
    driven line where positions were fitted beside velocities. ``release`` is there where it isn't
    where the driven line is at rest (NaN: it isn't in the record), ``landing`` where no coasting
    line meets the driven one, ``covered`` where only a distance ends the driven part. ``before`` is
    the position before the release.
    """

    parts: Sequence[Part]
    origin: float  # s

    @property
    def by_name(self) -> dict[str, float]:
        """The numbers alone."""
        pairs = (zip(names, values, strict=True) for names, values, _ in self.parts)
        return {name: float(value) for part in pairs for name, value in part}

    def lines(self) -> list[tuple[float, float]]:
        """Speed at time 0 of the record and acceleration of the driven and the coasting line."""
        p = self.by_name
        found = [(p["v"], p["a"])]
        if "dv" in p:
            found.append((p["v"] + p["dv"], p["a"] + p["da"]))
        return [(v - a * self.origin, a) for v, a in found]

    def times(self, otherwise: Span = (nan, nan)) -> Span:
        """Release and landing, s of the record; ``otherwise`` where they aren't told."""
        found = _told({name: np.asarray(value) for name, value in self.by_name.items()})
        first, last = (self.origin + float(found[name]) for name in (RELEASE, LANDING))
        return otherwise[0] if isnan(first) else first, otherwise[1] if isnan(last) else last

    def estimates(self, dof: float) -> tuple[dict[str, Estimate], Estimate | None]:
        """Estimates by Measurand; those that the numbers don't tell are left out. And the distance
        by the way that is not the surer one, if any.
        """
        from scipy.linalg import block_diag  # slow to import, and not every command has trials

        covariance = block_diag(*(each for _, _, each in self.parts))
        pairs = zip(self.by_name.items(), covariance.diagonal().tolist(), strict=True)
        inputs = [Input(name=n, value=v, u=max(var, 0.0) ** 0.5) for (n, v), var in pairs]
        told = linear(_told, inputs)
        matrix = np.array(list(told.slopes.values()))
        variances = np.einsum("ki,ij,kj->k", matrix, covariance, matrix)
        found = {
            name: Estimate(value=value, u=float(np.sqrt(max(variance, 0.0))), dof=dof)
            for (name, value), variance in zip(told.values.items(), variances, strict=True)
            if np.isfinite(value)
        }
        both = [found.pop(way) for way in (OF_SPEEDS, OF_PLACES) if way in found]
        ways = sorted(both, key=lambda way: way.u) if RELEASE in found else []
        for time in (RELEASE, LANDING):
            found.pop(time, None)
        if ways:
            found[Measurand.DISTANCE] = ways[0]
        return found, ways[1] if len(ways) > 1 else None


def one(name: str, value: float, u: float) -> Part:
    """A single number with its standard uncertainty."""
    return [name], np.array([value]), np.array([[u**2]])


def _told(p: Mapping[str, Array]) -> dict[str, Array]:
    """What the numbers say, by Measurand and RELEASE, LANDING; NaN where they don't."""
    v, a = p["v"], p["a"]
    release = p.get(RELEASE, -v / a)
    first = v + a * release
    landing = p.get(LANDING, np.full_like(a, np.nan))
    if "covered" in p:  # where it never is, the end is where the object turns
        last = np.sqrt(np.maximum(first**2 + 2 * a * p["covered"], 0.0))
        landing = release + (last - first) / a
    elif LANDING not in p and "dv" in p:
        landing = -p["dv"] / p["da"]
    final, time = v + a * landing, landing - release
    found = {RELEASE: release, LANDING: landing, Measurand.ACCELERATION: a}
    found |= {Measurand.FINAL_SPEED: final, Measurand.TRAVEL_TIME: time}
    if "covered" not in p:
        found[OF_SPEEDS] = (first + final) / 2 * time
        if "before" in p:
            x, v, a = (p[each] for each in (PLACE if PLACE[0] in p else "xva"))
            found[OF_PLACES] = x + v * landing + a * landing * landing / 2 - p["before"]
    if "da" in p:
        found[Measurand.COASTING_ACCELERATION] = p["a"] + p["da"]
    return found


@dataclass(frozen=True, kw_only=True)
class Fitted:
    """The model, fitted between edges."""

    basis: Basis
    edges: Mapping[str, Span]
    fit: Fit
    stretches: tuple[Readings, ...]  # that were fitted: driven, coasting
    quiet: tuple[Array, ...]  # residuals at rest
    left_out: tuple[float, ...]
    parameters: Parameters

    def run(self, signs: Mapping[str, int]) -> FoundRun:
        """Where the run lies, in a record whose channels were multiplied by ``signs``."""
        release, landing = (time if isfinite(time) else None for time in self.parameters.times())
        line, *others = self.parameters.lines()
        after = [(float(each.time[0]), float(each.time[-1])) for each in self.stretches[1:]]
        return FoundRun(
            basis=self.basis,
            signs=signs,
            release=release,
            landing=landing,
            driven=self.edges["driven"],
            driven_line=line,
            held=self.edges.get("held"),
            coasting=after[0] if after else None,
            coasting_line=others[0] if others else None,
            left_out=self.left_out,
        )


def notes_on_fit(run: FoundRun, given: Mapping[str, int], fit: Fit, derived: bool) -> Iterator[str]:
    """Which signs were turned over without being told to (``given``), which column was used, and
    what its noise is like; ``derived`` says whether velocities are slopes of the positions.
    """
    turned = [channel for channel, sign in run.signs.items() if sign < 0 and channel not in given]
    if turned:
        yield say("turned", channels=" and ".join(turned), s="s" * (len(turned) == 1))
    slopes = " and slopes" * (derived and run.basis is Basis.POSITION)
    yield say(f"motion from {run.basis}{slopes}")
    if fit.noise.time > SHARED and run.basis is not Basis.SUMMED_VELOCITY:
        yield say("shared-noise", count=fit.noise.time)
    if fit.dof < FEW:
        yield say("few-blocks", dof=fit.dof)


def notes_on_edges(
    run: FoundRun, speed: Readings, rough: RoughRun, window: Span | None, lands: bool
) -> Iterator[str]:
    """What of the run is not in the record, what else is in it, which readings were passed over,
    and how the end was found where the object ``lands``. A ``window`` was set by hand.
    """
    release = inf if run.release is None else run.release
    if window is not None:
        yield say("by-hand", begin=window[0], end=window[1])
    if release < speed.time[0]:
        yield say("begins-late")
    elif release < inf and rough.held is None:
        yield say("never-held")
    for rival in rough.rivals:
        yield say("rival", begin=rival.begin, end=rival.end)
    before = np.abs(speed.values[speed.time < min(2 * release - run.driven[0], release)])
    fastest = float(np.sort(before)[-3]) if len(before) >= 5 else -inf  # two lone spikes are none
    if inf > release and fastest >= NUDGE * np.polyval(run.driven_line[::-1], run.driven[1]):
        yield say("nudge", speed=fastest)
    if times := run.left_out:
        word = "reading stands" if len(times) == 1 else "readings stand"
        yield say("left-out", count=len(times), word=word, times=some(times))
    if lands and window is None and run.coasting is None:
        yield say("never-ends" if run.landing is None else "no-coasting")


def notes_on_doubts(
    fitted: Fitted, a: float, own: Estimate | None, other: Estimate | None
) -> Iterator[str]:
    """Whether the acceleration ``a`` changes in the driven part, by a fit of one degree more; and
    whether positions and velocities disagree on the distance.
    """
    driven, degree = fitted.stretches[0], DEGREE[fitted.basis] + 1
    bent = fit_stretches([driven], degree, fitted.quiet, origin=float(driven.time.mean()))
    jerk = bent.told(*np.eye(degree + 1)[-1]) if bent else None
    change = jerk.value * float(np.ptp(driven.time)) / a if jerk else 0.0
    if jerk and is_sure(jerk) and abs(change) >= BENT:
        yield say("bent", change=percent(change))
    if own and other:
        gap = abs(own.value - other.value)
        if gap > APART * float(np.hypot(own.u, other.u)) and gap >= 0.02 * abs(own.value):
            yield say("distances", one=own.value, other=other.value)


def some(times: Sequence[float]) -> str:
    """The first few times in s."""
    more = f" and {len(times) - 5} more" if len(times) > 5 else ""
    return ", ".join(f"{time:.3f} s" for time in times[:5]) + more


def percent(share: float) -> str:
    """A change with its sign, e.g. ``−12 %``."""
    return f"{100 * share:+.0f} %".replace("-", "−")


def is_sure(estimate: Estimate) -> bool:
    """Whether a value differs from zero beyond accident."""
    return abs(estimate.value) > quantile(estimate.dof, SURE) * estimate.u
