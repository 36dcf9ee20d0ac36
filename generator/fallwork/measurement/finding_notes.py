"""What has to be said of how a run was found: assumptions, and doubts about its record.

Takes the fitted run; gives sentences. Nothing is computed for its own sake here.
"""

from collections.abc import Mapping, Sequence

import numpy as np

from fallwork.measurement.finding_fit import Fit, Stretch, fit_stretches
from fallwork.measurement.finding_signals import Signals
from fallwork.measurement.finding_stretches import RoughRun
from fallwork.measurement.model import Basis, Estimate, Measurand
from fallwork.measurement.statistics import quantile

SURE = 0.9995  # probability (one side) at which a bend in the driven line is no accident
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


def notes_on_basis(basis: Basis, signals: Signals, fit: Fit) -> list[str]:
    """Which column was used, and what its noise is like."""
    notes = [BASIS[basis]]
    if basis is Basis.POSITION and signals.derived:
        notes = ["motion from the positions, of which the velocities are slopes"]
    if fit.memory.length > SHARED and basis is not Basis.SUMMED_VELOCITY:
        notes.append(
            f"about {fit.memory.length:.0f} neighbouring readings share their noise: "
            "the uncertainties allow for it"
        )
    if fit.dof < FEW:
        notes.append(
            f"few independent readings: the uncertainties have {fit.dof:.0f} degrees of freedom"
        )
    return notes


def notes_on_signs(signs: Mapping[str, int], given: Mapping[str, int]) -> list[str]:
    """Which signs were turned over without being told to."""
    turned = [channel for channel in signs if signs[channel] < 0 and channel not in given]
    if not turned:
        return []
    verb = "counts" if len(turned) == 1 else "count"
    return [f"{' and '.join(turned)} {verb} against the run: turned over"]


def notes_on_spikes(times: Sequence[float]) -> list[str]:
    """Which readings were passed over."""
    if not times:
        return []
    shown = ", ".join(f"{time:.3f} s" for time in times[:5])
    more = f" and {len(times) - 5} more" if len(times) > 5 else ""
    word = "reading stands" if len(times) == 1 else "readings stand"
    return [f"{len(times)} {word} alone far off and left out of the fit: at {shown}{more}"]


def notes_on_edges(
    rough: RoughRun, speed: Stretch, release: float | None, window: tuple[float, float] | None
) -> list[str]:
    """What of the run is not in the record."""
    notes = []
    if window is not None:
        notes.append(
            f"release and end of the run set by hand: {window[0]:.3f} s and {window[1]:.3f} s"
        )
    if release is not None and release < speed.time[0]:
        notes.append("the record begins after the release, which is found from the fitted line")
    elif release is not None and rough.held is None:
        notes.append("no stretch at rest before the release")
    for piece in rough.rivals:
        notes.append(
            f"another motion like a run, from {piece.begin:.2f} s to {piece.end:.2f} s, passed over"
        )
    return notes


def notes_on_landing(coasting: bool, landing: bool) -> list[str]:
    """How the end of the driven part was found."""
    if coasting:
        return []
    if landing:
        return ["no coasting after the driven part: its end is where the readings leave its line"]
    return ["the record ends before the driven part does: no final speed and no distance"]


def notes_on_nudge(speed: Stretch, release: float, margin: float, final: float) -> list[str]:
    """Whether something moved before the release."""
    before = np.abs(speed.values[speed.time < release - margin])
    if len(before) < 5:
        return []
    fastest = float(np.sort(before)[-3])  # two lone spikes are none
    if fastest < NUDGE * final:
        return []
    return [f"moved before the release, at up to {fastest:.2f} m/s: passed over as a nudge"]


def notes_on_bend(driven: Stretch, degree: int, quiet: Sequence[np.ndarray], a: float) -> list[str]:
    """Whether the acceleration changes in the driven part."""
    fit = fit_stretches([driven], degree + 1, quiet)
    if fit is None or a == 0:
        return []
    jerk = float(fit.parameters[0][-1])
    u = float(np.sqrt(fit.covariances[0][-1, -1]))
    change = jerk * float(np.ptp(driven.time)) / a
    if abs(jerk) <= quantile(fit.dof, SURE) * u or abs(change) < BENT:
        return []
    return [
        f"the acceleration changes by {_signed(100 * change)} % within the driven part: "
        "one value describes it badly"
    ]


def _signed(number: float) -> str:
    return f"{number:+.0f}".replace("-", "−")


def notes_on_distance(estimates: dict[str, Estimate], other: Estimate | None) -> list[str]:
    """Whether positions and velocities disagree on the distance."""
    own = estimates.get(Measurand.DISTANCE)
    if own is None or other is None:
        return []
    gap = abs(own.value - other.value)
    if gap <= APART * float(np.hypot(own.u, other.u)) or gap < 0.02 * abs(own.value):
        return []
    return [
        f"positions and speeds disagree on the distance: {own.value:.3f} m and {other.value:.3f} m"
    ]
