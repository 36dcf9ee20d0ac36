"""The zero of the force sensor, where it is set while the object is held and the pull is known.

Takes a scenario and local g; gives that pull with its uncertainty, and what it shares with a
predicted tension through masses and g. Reading the stretch itself is left to ``tension``.
"""

from math import fsum, sqrt

from fallwork.measurement.inputs import Case
from fallwork.measurement.model import Estimate, Measurand
from fallwork.measurement.motion import held_pull
from fallwork.measurement.statistics import rectangular
from fallwork.measurement.view import measurands_of, view_of
from fallwork.mechanics import Apparatus, apparatus_of, solve
from fallwork.scenario import Scenario, Slider


def known_pull(scenario: Scenario, gravity: Estimate) -> Estimate:
    """The pull in N while held, with the uncertainty that masses and g give to it."""
    case, view = Case(scenario=scenario, gravity=gravity), view_of(scenario)
    return case.propagated(lambda apparatus: {"held": held_pull(apparatus, view)}).estimate("held")


def covariance_of_tension(case: Case) -> float:
    """Covariance in N² of the pull while held and the predicted mean tension."""
    view = view_of(case.scenario)

    def pulls(apparatus: Apparatus) -> dict[str, float]:
        driven = measurands_of(solve(apparatus), view).get(Measurand.MEAN_TENSION, 0.0)
        return {"held": held_pull(apparatus, view), "driven": driven}

    found = case.propagated(pulls)
    return float(found.changes("held") @ found.changes("driven"))


def u_of_bearings(scenario: Scenario, gravity: float) -> float:
    """Standard uncertainty in N that the bearings of pulleys give to the pull while held.

    A bearing at rest may take up anything up to its torque, either way, so the pull at a slider
    lies between limits (GUM 4.3.7). An object that hangs is held with its whole weight.
    """
    view = view_of(scenario)
    if view.string is None or not isinstance(scenario.objects[view.moving], Slider):
        return 0.0
    pulleys = apparatus_of(scenario, gravity).pulleys
    passed = [pulleys[name] for name in scenario.strings[view.string].path if name in pulleys]
    halves = [float(each.bearing_torque / each.radius) for each in passed if each.radius]
    return sqrt(fsum(rectangular(half) ** 2 for half in halves))
