"""What the last steps ask."""

from functools import cached_property

from fallwork.lesson.lab.base import Base
from fallwork.scenario.model import Quantity


class Review(Base):
    """The bench, units and figures."""

    @cached_property
    def other_units(self) -> frozenset[str]:
        """Units to convert, of what is given of an object, a sloping surface or the run."""
        scenario = self.context.setting.scenario
        things = [*scenario.objects.values(), scenario.run]
        values = [value for thing in things for value in vars(thing).values()]
        values += [each.slope for each in scenario.surfaces.values() if each.slope.value]
        written = {value.unit for value in values if isinstance(value, Quantity)}
        return frozenset(written & {"g", "cm", "mm", "deg"})
