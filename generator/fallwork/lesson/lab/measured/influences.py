"""What the step about influences asks: which way each works, and how much of it."""

from collections.abc import Mapping
from math import degrees

from fallwork.lesson.lab.measured.gap import Gap
from fallwork.lesson.measured.words import size
from fallwork.lesson.rounding import rounded
from fallwork.measurement.influences import Influence
from fallwork.measurement.model import Measurand
from fallwork.measurement.suspects import Evidence, Suspect

SHOWN: Mapping[str, tuple[float, str]] = {  # factor from SI, unit
    "rad": (degrees(1.0), "°"),
    "kg": (1000.0, "g"),
    "kg/m": (1000.0, "g/m"),
}


class Influences(Gap):
    """Influences that the model leaves out."""

    @property
    def case(self) -> str:
        """``usual`` for a cart that a falling weight pulls, level or up; ``down`` for one that runs
        down a slope and draws its weight up; ``turns`` where it turns round; ``hung`` for a weight
        that the string holds back; "" for the rest.
        """
        if len(self.driven) > 1:
            return "turns"
        if self.moves and self.pulled_back and not self.slides:
            return "hung"
        if not self.is_plain or not self.moves or self.turns or self.turns_within:
            return ""
        climb = self.slope_rad(self.slider) * self.senses[self.slider]
        falls = self.senses[self.weight] > 0
        if falls and climb >= 0:
            return "usual"
        return "down" if climb < 0 and not falls and self.speeds_up else ""

    @property
    def goes_up(self) -> bool:
        """Whether what is watched runs up a slope."""
        return self.sloping and self.slope_rad(self.watched) * self.senses[self.watched] > 0

    @property
    def pulley_has(self) -> Mapping[str, bool]:
        """Whether the model has ``inertia`` and ``friction`` of a pulley."""
        parts = [self.pulleys[name] for name in self.rotors]
        return {
            "inertia": any(part.inertia for part in parts),
            "friction": any(part.bearing_torque for part in parts),
        }

    # ---- with numbers

    @property
    def kinds(self) -> list[str]:
        """Those that the table shows."""
        return [suspect.influence.kind.value for suspect in self.discrepancy.suspects]

    @staticmethod
    def change(influence: Influence, quantity: str) -> str:
        """What its amount does to a quantity, in the unit of that; empty where nothing."""
        change = influence.effects.get(quantity, 0.0)
        return ("+" if change > 0 else "") + size(change, "") if change else ""

    @staticmethod
    def in_units(influence: Influence, value: float) -> str:
        """An amount in the unit in which a lab thinks of it."""
        factor, unit = SHOWN.get(influence.unit, (1.0, influence.unit))
        digits = rounded(factor * value, 2).text
        return digits + (unit if unit in ("°", "") else f"\u00a0{unit}")

    def needed(self, suspect: Suspect) -> str:
        """The amount that alone would explain the difference; empty where none can."""
        if suspect.needed is None:
            return ""
        return self.in_units(suspect.influence, suspect.needed)

    @staticmethod
    def beyond(evidence: Evidence) -> str:
        """How many standard uncertainties of its given an influence would need."""
        return rounded(evidence.times, 2).text

    def noticed(self, influence: Influence) -> str:
        """The amount that would shift the acceleration by its limit; empty where none does."""
        effect, gap = influence.effects.get(Measurand.ACCELERATION, 0.0), self.discrepancy.gap
        if not effect or gap is None or gap.limit is None:
            return ""
        return self.in_units(influence, gap.limit / abs(effect) * influence.amount)
