"""Whether the conditions of a mode hold, for a whole batch.

Takes terms and motions; collects the cases in which everything holds. Looks closely only where a
condition fails somewhere.
"""

from collections.abc import Callable, Mapping

import numpy as np

from fallwork.mechanics.apparatus import Number
from fallwork.mechanics.arrays import is_plain, plus
from fallwork.mechanics.assembly import Terms
from fallwork.mechanics.bounded import Array, Flags
from fallwork.mechanics.elimination import BatchMotion
from fallwork.mechanics.layout import Layout
from fallwork.mechanics.problem import TOLERANCE, Mode


class Check:
    """The cases that are good so far; ``good`` is None as long as all are."""

    def __init__(self, layout: Layout, terms: Terms) -> None:
        self.layout, self.terms = layout, terms
        self.good: Flags | None = None

    def same_sign(self, value: Number, sign: float) -> None:
        """The start speed has the sign for which the mode was found."""
        self._keep(np.sign(value) == sign)

    def conditions(self, motion: BatchMotion, mode: Mode, statics: Flags, signs: Array) -> None:
        """Strings pull or don't stretch, sticking holds, sliding starts the right way."""
        for at, span in enumerate(self.layout.spans):
            if mode.taut[at]:
                self._not_negative(motion.tension[at], self._span_weight, span.stretch)
            else:
                slackening = plus(0.0, -1, _growth(span.stretch, motion))
                self._not_negative(slackening, self._span_acceleration, span.stretch)
        for at, way in enumerate(mode.friction):
            if way == 0:
                bound = self.terms[at].friction(static=bool(statics[at]))
                spare = plus(bound, -1, np.abs(motion.resistance[at]))
                self._not_negative(spare, self._span_weight, {at: 1})
            elif way is not None and signs[at] == 0:
                forward = plus(0.0, float(way), motion.acceleration[at])
                self._not_negative(forward, self._span_acceleration, {at: 1})

    def _not_negative(
        self,
        value: Number,
        size: Callable[[Mapping[int, int]], Number],
        about: Mapping[int, int],
    ) -> None:
        """``size(about)`` says how big the terms are of which ``value`` is made."""
        if not np.min(value) >= 0:  # nan counts as a failure too
            self._keep(np.asarray(value) >= -TOLERANCE * np.asarray(size(about)))

    def _keep(self, held: Flags | np.bool_) -> None:
        cases = np.asarray(held)
        if not cases.all():
            self.good = cases if self.good is None else self.good & cases

    def _span_weight(self, coordinates: Mapping[int, int]) -> Number:
        """The forces that act on some coordinates by themselves, N."""
        total: Number = 0.0
        for at in coordinates:
            total = plus(total, 1, self._own_force(at))
        return total

    def _span_acceleration(self, coordinates: Mapping[int, int]) -> Number:
        """What these could do to them, m/s²; what has no mass counts as falling freely."""
        total: Number = 0.0
        for at in coordinates:
            own: Number = np.abs(self.terms[at].fall)
            if not is_plain(self.terms[at].mass, 0.0):
                own = self._own_force(at) / self.terms[at].mass
            total = plus(total, 1, own)
        return total

    def _own_force(self, at: int) -> Number:
        term = self.terms[at]
        return plus(np.abs(term.drive), 1, term.friction(static=True))


def _growth(stretch: Mapping[int, int], motion: BatchMotion) -> Number:
    """Acceleration with which a span gets longer."""
    growth: Number = 0.0
    for at, factor in stretch.items():
        growth = plus(growth, float(factor), motion.acceleration[at])
    return growth
