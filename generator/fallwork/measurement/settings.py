"""What is known of the records of a lab before they are looked at.

Takes a scenario; gives the settings of the analysis that follow from its physics. What the authors
of a lab say of their records comes on top.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from math import fsum, sqrt

from fallwork.measurement.limits import Limits, limits_of
from fallwork.measurement.model import Estimate, Span
from fallwork.measurement.prediction import Case, driven_phases, view_of
from fallwork.measurement.statistics import rectangular
from fallwork.measurement.summaries import Sensors
from fallwork.mechanics import apparatus_of, solve
from fallwork.mechanics.solution import Role
from fallwork.scenario import Scenario, Slider

NOTHING = Estimate(value=0.0, u=0.0)  # N


class Zero(StrEnum):
    """A stretch in which the force is known."""

    HELD = "held"  # at rest before release
    SLACK = "slack"  # after landing, while the string pulls nothing


@dataclass(frozen=True, kw_only=True)
class Tare:
    """From which stretch the zero of the force sensor is set, and what the force is there."""

    zero: Zero
    known: Estimate = NOTHING  # N


@dataclass(frozen=True, kw_only=True)
class Settings:
    """What is said about records. Trials go by number or name."""

    signs: Mapping[str, int] = field(default_factory=dict)
    # ^ "position", "velocity", "force": ±1, so that motion and pull are positive; found out where
    # not given
    windows: Mapping[str, Span] = field(default_factory=dict)  # trial → release and end, s
    exclude: Mapping[str, str] = field(default_factory=dict)  # trial → reason
    include: Mapping[str, str] = field(default_factory=dict)  # trial or ALL → reason, if a misfit
    limits: Limits = field(default_factory=dict)  # what the lab's numbers allow; empty: unknown
    tare: Tare | None = None  # None: the force is taken as read
    from_rest: bool = True
    turns: bool = False  # the watched object starts against the way that it goes in the end
    slack_after: bool = True  # whether the string is slack after the driven part
    covered: Estimate | None = None
    # ^ m, by which the watched object has moved when the driven part ends, where nothing else ends
    # it: no landing, no stop
    sensors: Sensors = field(default_factory=Sensors)


def expected_settings(scenario: Scenario, gravity: float) -> Settings:
    """Those that follow from a scenario's physics."""
    solution = solve(apparatus_of(scenario, gravity))
    view, run, limits = view_of(scenario), scenario.run, limits_of(scenario, gravity)
    driven = driven_phases(solution)
    if view.turns_round(driven):
        return Settings(turns=True, from_rest=False, slack_after=False, limits=limits)
    covered = None
    if run.distance is not None and any(p.role is Role.RUNNING_ON for p in solution.phases):
        both = (view.moving, run.object)
        moved, counted = (abs(sum(p.displacements.get(n) or 0.0 for p in driven)) for n in both)
        covered = Estimate(value=moved, u=run.distance.u * (moved / counted if counted else 1.0))
    at_rest = driven[0].start_velocities.get(view.moving, 0.0) == 0.0
    slack = view.coasting(solution) is not None and view.string is not None
    return Settings(limits=limits, from_rest=at_rest, slack_after=slack, covered=covered)


def known_pull(scenario: Scenario, gravity: Estimate) -> Estimate:
    """The pull in N while held, with the uncertainty that masses and g give to it."""
    case, view = Case(scenario=scenario, gravity=gravity), view_of(scenario)
    return case.propagated(lambda apparatus: {"held": view.held_pull(apparatus)}).estimate("held")


def u_of_bearings(scenario: Scenario, gravity: float) -> float:
    """Standard uncertainty in N that the bearings of pulleys give to the pull while held. A bearing
    at rest may take up anything up to its torque, either way, so the pull at a slider lies between
    limits (GUM 4.3.7). An object that hangs is held with its whole weight.
    """
    view = view_of(scenario)
    if view.string is None or not isinstance(scenario.objects[view.moving], Slider):
        return 0.0
    pulleys = apparatus_of(scenario, gravity).pulleys
    passed = [pulleys[name] for name in scenario.strings[view.string].path if name in pulleys]
    halves = [float(each.bearing_torque / each.radius) for each in passed if each.radius]
    return sqrt(fsum(rectangular(half) ** 2 for half in halves))
