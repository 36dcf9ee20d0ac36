"""Checks whether a set-up that can be read can also be built.

Takes a draft or a scenario; gives every fault, joints first.
"""

from fallwork.scenario.faults import Fault
from fallwork.scenario.joints import joint_faults
from fallwork.scenario.layout import Draft
from fallwork.scenario.limits import limit_faults
from fallwork.scenario.model import Scenario


def faults_of_draft(draft: Draft) -> tuple[Fault, ...]:
    """Every fault of a draft."""
    return (*joint_faults(draft), *limit_faults(draft))


def faults_of(scenario: Scenario) -> tuple[Fault, ...]:
    """Every fault of a scenario, e.g. after its numbers were changed."""
    draft = Draft(
        title=scenario.title,
        objects=scenario.objects,
        surfaces=scenario.surfaces,
        strings=scenario.strings,
        run=scenario.run,
        systems={system.id: system for system in scenario.systems},
    )
    return faults_of_draft(draft)
