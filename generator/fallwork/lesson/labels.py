"""What diagrams write beside their arrows: the symbols of forces and accelerations, by phase.

Takes a context and its steps; gives trees by the names that figures know: of a force, of one
string's pull on a pulley (``piece``), of an object or pulley for its acceleration.
"""

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

from fallwork.lesson.document import FigureSlot, Step, piece
from fallwork.lesson.expression import Expression
from fallwork.lesson.trees import product
from fallwork.mechanics.solution import Interaction

if TYPE_CHECKING:
    from fallwork.lesson.lab import Lab


def labels_of(lab: "Lab", steps: tuple[Step, ...]) -> Mapping[int, Mapping[str, Expression]]:
    """The labels of the first phase and of each other one that a figure shows."""
    blocks = (block for step in steps for block in step.blocks)
    shown = {0} | {block.phase for block in blocks if isinstance(block, FigureSlot)}
    return {phase: dict(_labels(lab, lab.at(phase))) for phase in sorted(shown)}


def _labels(first: "Lab", lab: "Lab") -> Iterator[tuple[str, Expression]]:
    for name in lab.movers:
        for force in filter(lab.acts, lab.forces_on(name)):
            if force.interaction is Interaction.LANDING:
                continue  # the model has no letter for it
            yield force.name, lab.size(force)
        if name in lab.phase.accelerations and not lab.rests(name):
            yield name, _acceleration(first, lab, name)
    for pulley in lab.pulleys:
        yield from _pieces(lab, pulley)
    for pulley in lab.spinning:
        yield from _turning(lab, pulley)


def _acceleration(first: "Lab", lab: "Lab", name: str) -> Expression:
    """By the letter that the phase's equation of motion has for it."""
    if lab.index == 0:
        return lab.own_acceleration(name)
    if lab.index in lab.driven:
        return lab.acceleration_tree(name)
    if first.coasts:
        return first.coasting_acceleration
    return lab.acceleration_of(name)


def _pieces(lab: "Lab", pulley: str) -> Iterator[tuple[str, Expression]]:
    """The tension of each straight piece of string that pulls at a pulley's rim."""
    for force in lab.forces_on(pulley):
        wound = force.interaction is Interaction.TENSION and pulley not in lab.movers
        if force.interaction is Interaction.CONTACT or wound:
            path = lab.apparatus.strings[force.partner].path
            for at in segments_at(path, pulley):
                yield piece(force.name, at), lab.tension_at(force.partner, at)


def segments_at(path: tuple[str, ...], name: str) -> list[int]:
    """The straight pieces of a string that meet an object on it, counted along its path."""
    at = path.index(name)
    return [segment for segment in (at - 1, at) if 0 <= segment < len(path) - 1]


def _turning(lab: "Lab", pulley: str) -> Iterator[tuple[str, Expression]]:
    force = lab.force(Interaction.BEARING_TORQUE, pulley)
    if force is not None and lab.pulleys[pulley].bearing_torque:
        yield force.name, lab.bearing_torque(pulley)
    weighs = lab.force(Interaction.GRAVITY, pulley)
    if weighs is not None and pulley not in lab.movers:
        yield weighs.name, product(lab.pulley_mass(pulley), lab.gravity)
    if lab.pulleys[pulley].inertia:
        yield pulley, lab.angular_acceleration(pulley)
