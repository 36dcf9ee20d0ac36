"""What a scenario tells about records of it before they are looked at.

Takes a scenario; gives the settings of the analysis that follow from its physics. What the authors
of a lab say of their records comes on top.
"""

from fallwork.measurement.analysis import Settings
from fallwork.measurement.limits import limits_of
from fallwork.measurement.model import Estimate
from fallwork.measurement.view import coasting_phase, driven_phases, turns_round, view_of
from fallwork.mechanics import apparatus_of, solve
from fallwork.mechanics.solution import Role
from fallwork.scenario import Scenario


def expected_settings(scenario: Scenario, gravity: float) -> Settings:
    """Whether the watched object starts from rest or turns round, whether the string is slack after
    the driven part, the distance that ends it where no landing or stop does, and what its numbers
    allow.
    """
    solution = solve(apparatus_of(scenario, gravity))
    view, run = view_of(scenario), scenario.run
    driven = driven_phases(solution)
    limits = limits_of(scenario, gravity)
    if turns_round(driven, view):
        return Settings(turns=True, from_rest=False, slack_after=False, limits=limits)
    covered = None
    if run.distance is not None and any(p.role is Role.RUNNING_ON for p in solution.phases):
        moved, counted = (
            abs(sum(phase.displacements.get(name) or 0.0 for phase in driven))
            for name in (view.moving, run.object)
        )
        covered = Estimate(value=moved, u=run.distance.u * (moved / counted if counted else 1.0))
    return Settings(
        limits=limits,
        from_rest=driven[0].start_velocities.get(view.moving, 0.0) == 0.0,
        slack_after=coasting_phase(solution, view) is not None and view.string is not None,
        covered=covered,
    )
