"""Headings in the ways in which people write them."""

import pytest

from fallwork.measurement.records_headings import factor, heading_of

HEADINGS = [
    ("t (s)", "time", 1.0, ""),
    ("Time [ms]", "time", 0.001, ""),
    ("Elapsed Time (seconds)", "time", 1.0, ""),
    ("time_s", "time", 1.0, ""),
    ("position_m", "position", 1.0, ""),
    ("x/m", "position", 1.0, ""),
    ("s / mm", "position", 0.001, ""),
    ("x_2 / mm", "position", 0.001, "2"),
    ("v / (cm/s)", "velocity", 0.01, ""),
    ("velocity/cm/s", "velocity", 0.01, ""),
    ("v m/s", "velocity", 1.0, ""),
    ("v (m·s⁻¹)", "velocity", 1.0, ""),
    ("v (m s^-1)", "velocity", 1.0, ""),
    ("speed in cm/s", "velocity", 0.01, ""),
    ("v [m/s] (smoothed)", "velocity", 1.0, ""),
    ("Velocity (m/s), trial 2", "velocity", 1.0, "2"),
    ("run 2 (m/s)", "velocity", 1.0, "2"),
    ("Trial 3: t (s)", "time", 1.0, "3"),
    ("Force (mN)", "force", 0.001, ""),
    ("Tension, N", "force", 1.0, ""),
]
UNKNOWN = ["a (m/s²)", "temperature (K)", "remarks", "", "Trial 2"]


@pytest.mark.parametrize(("text", "role", "scale", "trial"), HEADINGS)
def test_role_unit_and_trial_are_understood(text: str, role: str, scale: float, trial: str) -> None:
    heading = heading_of(text)
    assert (heading.role, heading.trial) == (role, trial)
    assert factor(role, heading.unit) == scale


@pytest.mark.parametrize("text", UNKNOWN)
def test_other_headings_have_no_role(text: str) -> None:
    assert heading_of(text).role is None


def test_a_column_that_names_trials_is_known() -> None:
    assert [heading_of(text).role for text in ("Trial", "run no.", "Run #")] == ["trial"] * 3


def test_units_keep_their_case() -> None:
    assert factor("force", "mN") == 0.001
    assert factor("force", "MN") is None
