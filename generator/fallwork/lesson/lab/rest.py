"""What the steps ask about what stays at rest, and about forces that stay open."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from fallwork.lesson.expression import Expression, Symbol, as_expression
from fallwork.lesson.lab.base import Base
from fallwork.lesson.lab.solving import Solved, holding_torque, inner_forces
from fallwork.lesson.trees import product, total
from fallwork.mechanics.solution import Interaction, Undetermined


@dataclass(frozen=True, kw_only=True)
class Open:
    """An undetermined force: its symbol, its name, the way in which it is counted positive."""

    symbol: Symbol
    words: str
    way: str
    low: float | None
    high: float | None


class Rest(Base):
    """What friction holds."""

    @property
    def pulls_at_rest(self) -> list[Solved]:
        """The tensions and rigid pulls, from the balance of forces."""
        static = {self.friction(name) for name in self.frictions}
        return [solved for solved in inner_forces(self)[0] if solved.symbol not in static]

    @property
    def has_range(self) -> bool:
        """Whether the weights that static friction can hold are to be told."""
        rests = not self.moves and bool(self.frictions)
        return rests and self.is_plain and not self.open_forces

    @property
    def limiting_masses(self) -> Mapping[str, Solved]:
        """The ``most`` and the ``least`` mass of a weight that static friction can hold, on a slope
        also the one for which it is ``free`` of friction; what there isn't is missing.
        """
        slider = self.slider
        return {
            mark: Solved(
                symbol=self.limiting_mass(mark, self.value(tree)),
                tree=tree,
                source=slider,
            )
            for mark, tree in self._limiting_masses(slider)
        }

    def _limiting_masses(self, slider: str) -> Iterator[tuple[str, Expression]]:
        mass, coefficient = self.mass(slider), self.static_coefficient(slider)
        sine, cosine = self.sine(slider), self.cosine(slider)
        grip = product(coefficient, cosine) if cosine is not None else as_expression(coefficient)
        pull = self.force(Interaction.TENSION, slider)
        along = 0.0 if pull is None else self.along(pull) or 0.0
        if sine is None:
            yield "most", product(grip, mass)
        elif along * self.slope_rad(slider) <= 0:  # the string pulls down the slope
            yield "most", product(mass, total([grip, -sine]))
        else:
            yield "most", product(mass, total([sine, grip]))
            if not self.clings(slider):
                yield "least", product(mass, total([sine, -grip]))
            yield "free", product(mass, sine)

    def holding_torque_needed(self, pulley: str) -> Expression | None:
        """The torque that a bearing must give so that a pulley stays at rest; None if open."""
        if self.unpulled(pulley):
            return None
        return holding_torque(self, pulley)

    @property
    def undetermined(self) -> Iterator[Open]:
        """The forces that the set-up doesn't settle, with their bounds."""
        return map(self._open, self.open_forces)

    def _open(self, each: Undetermined) -> Open:
        """Only a tension can have no upper bound, and none is below zero."""
        way = ""
        force = self.force(each.interaction, each.on) if each.on else None
        if force is None:
            open_ = (s for s in self.stretches if s.tension is None and s.string == each.partner)
            symbol = self.tension_of(next(open_))
        elif force.interaction is Interaction.FRICTION:
            symbol, way = self.friction(force.on), self.direction(force.on, 1)
        else:
            symbol = self.holding_torque(force.on)
        words = symbol.meaning if force is None else self.phrase(force)
        return Open(symbol=symbol, words=words, way=way, low=each.low, high=each.high)
