"""What has to be said of how a run was found: assumptions, and doubts about its record.

Takes the fitted run; gives sentences. Nothing is computed for its own sake here.
"""

from collections.abc import Iterator, Mapping, Sequence
from math import inf

import numpy as np

from fallwork.measurement.finding_fit import Fit, Readings, Span, fit_stretches
from fallwork.measurement.finding_pieces import RoughRun
from fallwork.measurement.model import Array, Basis, Estimate, FoundRun
from fallwork.measurement.statistics import quantile

SURE = 0.9995  # probability (one side) at which a bend, a trend or an offset is no accident
BENT = 0.02  # relative change of the acceleration that is worth a word
NUDGE = 0.08  # of the final speed: faster than this before release is worth a word
SHARED = 1.5  # readings that share their noise: more is worth a word
FEW = 4  # degrees of freedom below which an uncertainty is itself very uncertain
APART = 4.0  # standard uncertainties between two distances that are worth a word
BASIS = {
    Basis.VELOCITY: "motion from the velocities",
    Basis.POSITION: "motion from the positions",
    Basis.SUMMED_VELOCITY: (
        "motion from the running sum of the velocities, whose noise is that of differences"
    ),
}


def notes_on_fit(run: FoundRun, given: Mapping[str, int], fit: Fit, derived: bool) -> Iterator[str]:
    """Which signs were turned over without being told to (``given``), which column was used, and
    what its noise is like; ``derived`` says whether velocities are slopes of the positions.
    """
    turned = [channel for channel, sign in run.signs.items() if sign < 0 and channel not in given]
    if turned:
        verb = "counts" if len(turned) == 1 else "count"
        yield f"{' and '.join(turned)} {verb} against the run: turned over"
    slopes = run.basis is Basis.POSITION and derived
    yield BASIS[run.basis] + (", of which the velocities are slopes" if slopes else "")
    if fit.noise.time > SHARED and run.basis is not Basis.SUMMED_VELOCITY:
        yield (
            f"about {fit.noise.time:.0f} neighbouring readings share their noise: "
            "the uncertainties allow for it"
        )
    if fit.dof < FEW:
        yield f"few independent readings: the uncertainties have {fit.dof:.0f} degrees of freedom"


def notes_on_edges(
    run: FoundRun, speed: Readings, window: Span | None, rough: RoughRun, lands: bool
) -> Iterator[str]:
    """What of the run is not in the record, what else is in it, which readings were passed over,
    and how the end was found where the object ``lands``. A ``window`` was set by hand.
    """
    release = inf if run.release is None else run.release
    if window is not None:
        yield f"release and end of the run set by hand: {window[0]:.3f} s and {window[1]:.3f} s"
    if release < speed.time[0]:
        yield "the record begins after the release, which is found from the fitted line"
    elif release < inf and rough.held is None:
        yield "no stretch at rest before the release"
    for rival in rough.rivals:
        span = f"from {rival.begin:.2f} s to {rival.end:.2f} s"
        yield f"another motion like a run, {span}, passed over"
    before = np.abs(speed.values[speed.time < min(2 * release - run.driven[0], release)])
    fastest = float(np.sort(before)[-3]) if len(before) >= 5 else -inf  # two lone spikes are none
    if inf > release and fastest >= NUDGE * np.polyval(run.driven_line[::-1], run.driven[1]):
        yield f"moved before the release, at up to {fastest:.2f} m/s: passed over as a nudge"
    if times := run.left_out:
        word = "reading stands" if len(times) == 1 else "readings stand"
        yield f"{len(times)} {word} alone far off and left out of the fit: at {some(times)}"
    if lands and run.coasting is None and run.landing is not None:
        yield "no coasting after the driven part: its end is where the readings leave its line"
    elif lands and run.coasting is None:
        yield "the record ends before the driven part does: no final speed and no distance"


def notes_on_bend(driven: Readings, quiet: Sequence[Array], degree: int, a: float) -> Iterator[str]:
    """Whether the acceleration changes in the driven part, by a fit of one ``degree`` more."""
    bent = fit_stretches([driven], degree, quiet, origin=float(driven.time.mean()))
    jerk = bent.told(*np.eye(degree + 1)[-1]) if bent else None
    change = jerk.value * float(np.ptp(driven.time)) / a if jerk else 0.0
    if jerk and is_sure(jerk) and abs(change) >= BENT:
        yield (
            f"the acceleration changes by {percent(change)} within the driven part: "
            "one value describes it badly"
        )


def notes_on_distance(own: Estimate | None, other: Estimate | None) -> Iterator[str]:
    """Whether positions and velocities disagree on the distance."""
    if own is None or other is None:
        return
    gap = abs(own.value - other.value)
    if gap > APART * float(np.hypot(own.u, other.u)) and gap >= 0.02 * abs(own.value):
        values = f"{own.value:.3f} m and {other.value:.3f} m"
        yield f"positions and speeds disagree on the distance: {values}"


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
