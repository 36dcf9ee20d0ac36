"""Checks whether a set-up that can be read can also be built.

Takes a draft or a scenario; gives every fault, joints first. Holds the words too for what only the
solver finds out.
"""

from functools import cache
from importlib.resources import files
from typing import NamedTuple

import yaml

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


class Words(NamedTuple):
    """Parts of a sentence about what can't be."""

    found: str
    expected: str


def words_of(reason: str) -> Words:
    """What is said where the solver finds that a set-up can't be; ``reason`` is its key."""
    return Words(**_reasons()[reason])


@cache
def _reasons() -> dict[str, dict[str, str]]:
    text = files("fallwork.scenario").joinpath("impossible.yaml").read_text("utf-8")
    found: dict[str, dict[str, str]] = yaml.load(text, Loader=yaml.BaseLoader)
    return found
