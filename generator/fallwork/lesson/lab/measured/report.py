"""What the steps about the report ask: tables to fill in, and a value rounded too early."""

from collections.abc import Mapping
from dataclasses import replace
from functools import cached_property

from fallwork.lesson.document import Equation
from fallwork.lesson.expression import Expression, Symbol, as_expression
from fallwork.lesson.lab.measured.core import Measured, refs
from fallwork.lesson.measured.words import title
from fallwork.lesson.rounding import rounded
from fallwork.lesson.words import upper_first
from fallwork.measurement.model import Measurand

TOO_FEW = 1  # figures


class Report(Measured):
    """The report."""

    @cached_property
    def letters(self) -> Mapping[str, Expression]:
        """What the force sensor shows at zero, what was left off the scale, a rounded value."""
        found: dict[str, Symbol] = {}
        if self.evidence is None:
            found["F0"] = _symbol("zero", "F", "zero", "N")
        if self.is_plain and self.moves:
            found["ml"] = _symbol("unweighed", "m", "off", "kg")
            if self.speeding and self.senses[self.weight] > 0:
                found["ar"] = self._early_acceleration
        return {**super().letters, **refs(found)}

    def asked_for(self, *ways: str) -> tuple[tuple[str, str], ...]:
        """What the tables ask for, with units; both ``ways`` where friction turns round between."""
        back = len(self.driven) > 1
        return tuple(
            (upper_first(each.words) + way, each.unit)
            for each in self.featured
            for way in (ways if back and each.name is not Measurand.FINAL_SPEED else [""])
        )

    # ---- rounding on the way

    @property
    def _early_acceleration(self) -> Symbol:
        """The acceleration, rounded before it is used."""
        acceleration = self.acceleration
        digits = ""
        if acceleration.value is not None:
            digits = str(rounded(acceleration.value, TOO_FEW).decimal)
        value = float(digits) if digits else None
        return _early(acceleration, "acceleration", "rounded", value, digits)

    @property
    def pull(self) -> Expression:
        """The tension on the hanging weight."""
        return as_expression(self.tension(self.string, self.weight))

    @property
    def early_pull(self) -> Equation:
        """What it comes to with the acceleration rounded."""
        early = self._early_acceleration
        weight, value = self.weight, None
        if early.value is not None:
            gravity = float(self.apparatus.gravity)
            value = self.mass_kg(weight) * (gravity - early.value)
        tree = as_expression(self.mass(weight)) * (as_expression(self.gravity) - early)
        tension = self.tension(self.string, weight)
        left = replace(_early(tension, "tension", "tension-rounded", value), aside=True)
        return Equation(left=as_expression(left), right=tree, numbers=self.numbers)


def _early(
    symbol: Symbol, name: str, meaning: str, value: float | None, written: str = ""
) -> Symbol:
    return replace(
        symbol,
        id=f"{name}.early",
        subscript="early",
        meaning=title(f"meanings.{meaning}"),
        value=value,
        written=written,
    )


def _symbol(name: str, letter: str, subscript: str, unit: str) -> Symbol:
    return Symbol(
        id=f"measured.{name}",
        letter=letter,
        subscript=subscript,
        meaning=title(f"meanings.{name}"),
        unit=unit,
    )
