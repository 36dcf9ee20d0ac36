"""The one model that the files of steps ask: a set-up, its symbols and its equations.

Takes a context; gives each question's answer under a name of the trade.
"""

from functools import cached_property
from typing import Any

from fallwork.lesson.context import Context
from fallwork.scenario.model import Quantity


class Lab:
    """What a step may ask. Whatever isn't here is asked of the context, the setting, the symbols
    and the equations of motion, in this order.
    """

    def __init__(self, context: Context) -> None:
        self.context = context

    def __getattr__(self, name: str) -> Any:
        context = self.context
        for part in (context, context.setting, context.names, context.motion):
            if hasattr(part, name):
                return getattr(part, name)
        raise AttributeError(name)

    @property
    def g(self) -> Any:
        """Local gravity."""
        return self.context.names.gravity

    @cached_property
    def other_units(self) -> frozenset[str]:
        """Units to convert, of what is given of an object, a sloping surface or the run."""
        scenario = self.context.setting.scenario
        things = [*scenario.objects.values(), scenario.run]
        values = [value for thing in things for value in vars(thing).values()]
        values += [each.slope for each in scenario.surfaces.values() if each.slope.value]
        written = {value.unit for value in values if isinstance(value, Quantity)}
        return frozenset(written & {"g", "cm", "mm", "deg"})
