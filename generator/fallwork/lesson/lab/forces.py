"""What the steps about forces ask."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from fallwork.lesson.document import Relation
from fallwork.lesson.elimination import Solved, inner_forces
from fallwork.lesson.expression import Expression
from fallwork.lesson.lab.base import Base
from fallwork.mechanics.solution import Interaction


@dataclass(frozen=True, kw_only=True)
class Held:
    """What hangs and moves: the pull on it beside gravity on it."""

    name: str
    pull: Expression
    gravity: Expression
    sign: str  # between pull and gravity: "<", "=" or ">"
    slowing: bool
    apart: bool  # the lesson shows values, and the two differ

    @property
    def relation(self) -> Relation:
        """T < m g."""
        return Relation(sides=(self.pull, self.gravity), signs=(self.sign,))


class Forces(Base):
    """The forces on each object."""

    @cached_property
    def inner_forces(self) -> tuple[tuple[Solved, ...], tuple[Solved, ...]]:
        """Tensions and rigid pulls in the order in which they can be found, and the checks."""
        if not self.context.setting.tied or not self.context.setting.taut:
            return (), ()
        return inner_forces(self.context)

    @property
    def held(self) -> Iterator[Held]:
        """Each hanging weight that moves and is held by one pull."""
        setting = self.context.setting
        for name in setting.hanging:
            pull = self._pull_on(name)
            if pull is None or setting.rests(name):
                continue
            acceleration = setting.phase.accelerations[name]
            gravity = self.context.motion.gravity_on(name)
            values = self.context.value(pull), self.context.value(gravity)
            yield Held(
                name=name,
                pull=pull,
                gravity=gravity,
                sign="=<>"[(acceleration > 0) - (acceleration < 0)],
                slowing=acceleration * setting.ways[name] < 0,
                apart=bool(acceleration) and None not in values and values[0] != values[1],
            )

    def _pull_on(self, name: str) -> Expression | None:
        """The one pull that holds a weight: of a string, or of the pulley that carries it."""
        inner = self.context.motion.inner(name)
        if len(inner) != 1 or inner[0].force.interaction is Interaction.CONTACT:
            return None
        return inner[0].size if inner[0].force.size is not None else None
