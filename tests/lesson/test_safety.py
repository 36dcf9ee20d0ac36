"""What is said of the hardest blow is a bound: no run of any set-up brings more."""

from pathlib import Path

import pytest

from fallwork.lesson.safety import SafetyLab
from lesson.kit import DEMO, ZOO, solved

SET_UPS = [*sorted(DEMO.glob("*.yaml")), *sorted(ZOO.glob("*.yaml"))]
TABLE = 0.90  # m


@pytest.mark.parametrize("path", SET_UPS, ids=lambda path: path.stem)
def test_no_object_moves_with_more_energy_than_is_said(path: Path) -> None:
    """At no end of a phase, on the track a fall from the table still to come."""
    scenario, apparatus, solution = solved(path)
    lab = SafetyLab(scenario, apparatus, solution, 3, numbers=False)
    for fall in lab.falls:
        ahead = fall.mass * apparatus.gravity * TABLE if fall.name in lab.sliders else 0.0
        for phase in solution.phases:
            speed = phase.end_velocities[fall.name] or phase.start_velocities[fall.name]
            assert fall.mass * speed**2 / 2 <= fall.energy - ahead + 1e-9
