"""What has to be said of how a run was found: assumptions, and doubts about its record.

Takes the fitted run; gives sentences. Nothing is computed for its own sake here.
"""

from collections.abc import Iterator, Mapping, Sequence
from math import inf

import numpy as np

from fallwork.measurement.finding_fit import Fit, Readings, fit_stretches
from fallwork.measurement.finding_pieces import RoughRun
from fallwork.measurement.model import Array, Basis, Estimate, FoundRun, Span
from fallwork.measurement.saying import say
from fallwork.measurement.statistics import quantile

SURE = 0.9995  # probability (one side) at which a bend, a trend or an offset is no accident
BENT = 0.02  # relative change of the acceleration that is worth a word
NUDGE = 0.08  # of the final speed: faster than this before release is worth a word
SHARED = 1.5  # readings that share their noise: more is worth a word
FEW = 4  # degrees of freedom below which an uncertainty is itself very uncertain
APART = 4.0  # standard uncertainties between two distances that are worth a word


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


def notes_on_bend(driven: Readings, quiet: Sequence[Array], degree: int, a: float) -> Iterator[str]:
    """Whether the acceleration changes in the driven part, by a fit of one ``degree`` more."""
    bent = fit_stretches([driven], degree, quiet, origin=float(driven.time.mean()))
    jerk = bent.told(*np.eye(degree + 1)[-1]) if bent else None
    change = jerk.value * float(np.ptp(driven.time)) / a if jerk else 0.0
    if jerk and is_sure(jerk) and abs(change) >= BENT:
        yield say("bent", change=percent(change))


def notes_on_distance(own: Estimate | None, other: Estimate | None) -> Iterator[str]:
    """Whether positions and velocities disagree on the distance."""
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
