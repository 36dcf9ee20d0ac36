"""The two means of a tension that changes, against a case worked out in closed form."""

import numpy as np
import pytest

from fallwork.measurement.analysis import analyse
from fallwork.measurement.model import Record
from fallwork.measurement.settings import Settings

# Cart 0.5 kg, weight 0.1 kg, µ = 0.02, drag 0.35 N s/m on the cart, g = 9.80665 m/s².
LIMIT, DECAY = 2.52171, (0.5 + 0.1) / 0.35  # m/s, s: (m₂ − µ m₁) g/b and (m₁ + m₂)/b
BEGIN, END = 0.549296329247, 1.1602942665  # s: at 0.2 m and at 0.8 m
OVER_DISTANCE, OVER_TIME, WORK = 0.892336223802, 0.890848585779, 0.535401734281  # N, N, J


def with_drag() -> Record:
    """v = v_T (1 − exp(−t/τ)) from rest at 0.5 s on, read a thousand times a second."""
    time = np.arange(0.0, 1.9, 0.001)
    since = np.clip(time - 0.5, 0, None)
    left = np.exp(-since / DECAY)
    acceleration = LIMIT / DECAY * left
    return Record(
        name="drag",
        time=time,
        position=LIMIT * since - LIMIT * DECAY * (1 - left),
        velocity=LIMIT * (1 - left),
        force=np.where(time < 0.5, 0.1 * 9.80665, 0.1 * (9.80665 - acceleration)),
    )


def test_means_over_distance_and_over_time_of_a_cart_with_drag() -> None:
    """Recomputed from the closed form at 50 digits and by the balances of energy and impulse."""
    window = {"drag": (0.5 + BEGIN, 0.5 + END)}
    (trial,) = analyse([with_drag()], Settings(windows=window, from_rest=False)).trials
    found = {name: estimate.value for name, estimate in trial.estimates.items()}
    assert found["mean_tension"] == pytest.approx(OVER_DISTANCE, abs=1.5e-4)
    assert found["mean_tension_over_time"] == pytest.approx(OVER_TIME, abs=1.5e-4)
    assert found["mean_tension"] - found["mean_tension_over_time"] == pytest.approx(
        OVER_DISTANCE - OVER_TIME, rel=0.02
    )
    # The distance is the area under a straight line, which the record's own note says is bad here.
    assert found["work_of_tension"] == pytest.approx(WORK, rel=5e-3)
    assert any("one value describes it badly" in note for note in trial.notes)
