"""Motion and force of one trial in two files: what can't be put together is refused with reason.

The run by hand: held until 1 s, 1.5 m/s² until 1.8 s, then 1.2 m/s; the force reads 0.80 N, 0.68 N
and 0 N.
"""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from fallwork.errors import BadInput
from fallwork.measurement.analysis import analyse
from fallwork.measurement.limits import Range
from fallwork.measurement.records import read_all
from fallwork.measurement.saying import say
from fallwork.measurement.settings import Settings

TIMES = np.arange(0, 2.6, 0.02)
NOISE = 0.002 * np.sin(1000 * TIMES**2)


def position(time: float) -> float:
    since = max(time - 1, 0)
    return 0.75 * since**2 if since < 0.8 else 0.48 + 1.2 * (since - 0.8)


def speed(time: float) -> float:
    return float(np.clip(1.5 * (time - 1), 0, 1.2))


def force(time: float) -> float:
    return 0.8 if time < 1 else 0.68 if time < 1.8 else 0.0


def write(name: str, heading: str, value: Callable[[float], float], late: float = 0.0) -> None:
    rows = [f"{t + late:.3f},{value(t) + e:.4f}" for t, e in zip(TIMES, NOISE, strict=True)]
    Path(name).parent.mkdir(exist_ok=True)
    Path(name).write_text("\n".join([f"t (s),{heading}", *rows, ""]), "utf-8")


BOTH = ("motion-3.csv", "force-3.csv")


def refused(*names: str, settings: Settings | None = None) -> str:
    with pytest.raises(BadInput) as caught:
        analyse(read_all(map(Path, names)), settings)
    return str(caught.value)


@pytest.fixture(autouse=True)
def _two_files(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    write("motion-3.csv", "v (m/s)", speed)
    write("force-3.csv", "F (N)", force)


PAIRS = [
    ("run-3-velocity.csv", "run-03_force.csv"),
    ("bench b/speed 3.csv", "bench b/tension 3.csv"),
    ("motion/trial-3.csv", "force/trial-3.csv"),
]


@pytest.mark.parametrize(("motion", "pull"), PAIRS)
def test_names_that_differ_in_the_sensor_alone_are_of_one_trial(motion: str, pull: str) -> None:
    write(motion, "v (m/s)", speed)
    write(pull, "F (N)", force)
    (trial,) = analyse(read_all([Path(motion), Path(pull)])).trials
    assert trial.name in {"trial 3", "trial 03", "bench b 3"}
    assert trial.estimates["mean_tension"].value == pytest.approx(0.68, abs=0.002)


def test_a_force_without_its_motion_is_no_trial_and_says_why() -> None:
    write("force-4.csv", "F (N)", force)
    trials = analyse(read_all(map(Path, (*BOTH, "force-4.csv")))).trials
    assert [(trial.name, trial.excluded) for trial in trials] == [
        ("trial 3", None),
        ("force-4", f"no run found: it is the record of a force sensor alone ({say('two-files')})"),
    ]


def test_two_motions_of_one_name_leave_open_whose_the_force_is() -> None:
    write("speed-3.csv", "v (m/s)", speed)
    assert refused("motion-3.csv", "speed-3.csv", "force-3.csv") == (
        "force-3.csv:2:1: motion-3, speed-3, force-3 are named as one trial; two files of one "
        "trial are one motion and one force: name the trials apart"
    )


def test_simulated_and_measured_make_no_trial() -> None:
    made = Path("motion-3.csv")
    made.write_text("# Simulated data\n" + made.read_text("utf-8"), "utf-8")
    assert refused(*BOTH) == (
        "force-3.csv:2:1: of motion-3 and force-3, which are named as one trial, one is "
        "simulated; simulated and measured data never make one trial: name them apart"
    )


def test_clocks_that_nothing_brings_together_are_told() -> None:
    write("force-3.csv", "F (N)", lambda time: 0.7, late=40)
    assert refused(*BOTH) == (
        "force-3.csv:2:1: motion and force of trial 3 can't be put together: the force has "
        "readings from 40.00 s to 42.58 s, the run lies from 1.05 s to 1.75 s, and the force "
        "doesn't show when it was; record both with one clock, or the force from before the "
        "release until the string is slack; or give the two files names that differ"
    )
    # Where nothing lands, what ends the pull may be anything.
    write("force-3.csv", "F (N)", force, late=40)
    assert "can't be put together" in refused(*BOTH, settings=Settings(slack_after=False))


def test_two_files_of_another_lab_are_named_as_one_would_be() -> None:
    """No exchange of columns makes them fit, not even that of velocity and force, which leaves the
    second file without a force.
    """
    rows = [f"{t},{position(t):.5f},{speed(t) + e:.4f}" for t, e in zip(TIMES, NOISE, strict=True)]
    Path("motion-3.csv").write_text("\n".join(["t (s),x (m),v (m/s)", *rows, ""]), "utf-8")
    other = Range(value=40.0, low=39.0, high=41.0, doubtful=1.0, varies=1.0)
    (trial,) = analyse(read_all(map(Path, BOTH)), Settings(limits={"acceleration": other})).trials
    assert trial.set_aside
