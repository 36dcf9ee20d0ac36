"""What the steps at the bench and about the report ask: what is weighed and measured before the
trials, tables to fill in, and a value rounded too early.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from functools import cached_property

from fallwork.lesson.document import Equation, Given
from fallwork.lesson.expression import Expression, Symbol, as_expression
from fallwork.lesson.givens import givens_of
from fallwork.lesson.lab import Lab
from fallwork.lesson.lab.measured.core import Measured
from fallwork.lesson.lab.measured.quantities import symbol
from fallwork.lesson.measured.words import title
from fallwork.lesson.rounding import rounded
from fallwork.lesson.trees import product, scaled, total
from fallwork.lesson.words import upper_first
from fallwork.measurement.energies import is_measured
from fallwork.measurement.model import Measurand
from fallwork.mechanics.binding import bonds
from fallwork.mechanics.solution import Interaction
from fallwork.scenario import Pulley, SystemChoice

TOO_FEW = 1  # figures


class Bench(Measured):
    """Before the trials, and what is handed in after them."""

    @cached_property
    def letters(self) -> Mapping[str, Expression]:
        """What the force sensor shows at zero, what was left off the scale, a rounded value."""
        found: dict[str, Symbol] = {}
        if self.evidence is None:
            found["F0"] = symbol("zero", "zero", "F", ("zero",), "N", figures=None)
        if self.is_plain and self.moves:
            found["ml"] = symbol("unweighed", "unweighed", "m", ("off",), "kg", figures=None)
            if self.speeding and self.senses[self.weight] > 0:
                found["ar"] = self._early_acceleration
        return {**super().letters, **{name: as_expression(each) for name, each in found.items()}}

    @property
    def run_ratio(self) -> Fraction | None:
        """How far the watched object moves for that of the run; None where the string alone doesn't
        settle it.
        """
        run = self.scenario.run.object
        if run == self.watched or not self.tied:
            return Fraction(1) if run == self.watched else None
        return abs(Fraction(self.ratios[self.watched]) / Fraction(self.ratios[run]))

    @property
    def over_a_pulley(self) -> bool:
        """Whether the string whose pull is measured runs over a pulley."""
        scenario, string = self.scenario, self.view.string
        path = () if string is None else scenario.strings[string].path
        return any(isinstance(scenario.objects[name], Pulley) for name in path)

    @property
    def part_and_whole(self) -> tuple[SystemChoice, SystemChoice] | None:
        """The smallest system on which the measured pull acts from outside, and the largest with
        that one and all that moves in it; None without such a pair.
        """
        chosen, string = self.scenario.systems, self.view.string
        parts = [each for each in chosen if self.watched in each.members]
        parts = [each for each in parts if string not in (None, *each.members)]
        part = min(parts, key=lambda each: len(each.members), default=None)
        needed = {*self.movers, *(part.members if part else ()), *([string] if string else [])}
        wholes = [each for each in chosen if needed <= set(each.members)]
        wholes = [each for each in wholes if each.id not in self.unfollowed]
        whole = max(wholes, key=lambda each: len(each.members), default=None)
        return (part, whole) if part and whole else None

    @property
    def goes_slack(self) -> bool:
        """Whether the string whose pull is measured is slack after the landing."""
        return self.view.string in self.solution.phases[-1].slack

    @property
    def givens(self) -> Sequence[Given]:
        """What is given."""
        return givens_of(self.seen_as(Lab))

    @property
    def massless(self) -> Sequence[str]:
        """The movers that have no mass in the model, with their articles."""
        return [self.the(name) for name in self.movers if not self.mass_kg(name)]

    # ---- at rest

    @cached_property
    def holding(self) -> Mapping[str, Symbol]:
        """The heaviest and the lightest hanging mass for which static friction holds."""
        limits = self.seen_as(Lab).limiting_masses
        return {which: each.symbol for which, each in limits.items()}

    @property
    def grip_found(self) -> Expression:
        """The coefficient of static friction as these two masses give it."""
        limits = self.holding
        sine, cosine = self.sine(self.slider), self.cosine(self.slider)
        mass = product(self.mass(self.slider), *([] if cosine is None else [cosine]))
        most = as_expression(limits["most"])
        if "least" in limits:
            return total([most, -as_expression(limits["least"])]) / product(2, mass)
        return most / mass if sine is None else total([most / mass, -(sine / (cosine or 1))])

    # ---- the report

    def asked_for(self, *ways: str) -> tuple[tuple[str, str], ...]:
        """What the tables ask for, with units; both ``ways`` where friction turns round between."""
        back = len(self.driven) > 1
        return tuple(
            (upper_first(each.words) + way, each.unit)
            for each in self.featured
            for way in (ways if back and each.name is not Measurand.FINAL_SPEED else [""])
        )

    @property
    def unread(self) -> Mapping[str, Sequence[str]]:
        """By the id of a featured system, the strings that do work on it unread by any sensor."""
        found = {}
        for system in self.seen_as(Lab).systems:
            pulls = [w.force for w in system.works if w.force.interaction is Interaction.TENSION]
            unread = [each for each in pulls if not is_measured(each, self.view, self.phase)]
            ends = [name for each in unread for name in (each.partner, each.on)]
            names = [name for name in ends if name in self.apparatus.strings]
            if names:
                found[system.id] = [self.the(name) for name in dict.fromkeys(names)]
        return found

    @property
    def loose(self) -> Sequence[str]:
        """The movers whose motion no sensor follows and no taut string ties to the watched one."""
        chosen, size = self.rigging.of_object[self.watched], len(self.rigging.coordinates)
        order = [*(at for at in range(size) if at != chosen), chosen]
        rows = self.rigging.stretch_matrix()[sorted(self.taut_spans)][:, order]
        tied = {order[column] for column, by in bonds(rows) if not any(by[:-1])} | {chosen}
        return [
            name
            for name in self.movers
            if self.rigging.of_object[name] not in tied and not self.rests(name)
        ]

    @property
    def unfollowed(self) -> Mapping[str, Sequence[str]]:
        """By the id of a featured system, its members with mass whose motion isn't measured."""
        heavy = [name for name in self.loose if self.mass_kg(name)]
        held = {s.id: [n for n in heavy if n in s.members] for s in self.scenario.systems}
        return {id_: [self.the(name) for name in names] for id_, names in held.items() if names}

    @property
    def by_pulleys(self) -> Mapping[str, Expression]:
        """By the id of a featured system that a turning pulley brakes from outside, that work."""
        found = {}
        for system in self.scenario.systems if self.tied and self.speeds_up else ():
            over = [name for name in system.members if name in self.apparatus.strings]
            paths = [self.apparatus.strings[name].path for name in over]
            outside = [n for n in self.rotors if n not in (*system.members, *self.movers)]
            works = [
                product(total(takes), scaled(self.rim(name), self.distance))
                for name in outside
                if any(name in path[1:-1] for path in paths)
                if (takes := self._taken(name))
            ]
            if works:
                found[system.id] = -total(works)
        return found

    def _taken(self, pulley: str) -> list[Expression]:
        """By how much a turning pulley makes the pull behind it smaller, N."""
        inertia, drag = self.rotor_inertia(pulley), self.rotor_drag(pulley)
        own = scaled(self.rim(pulley), self.acceleration)
        return [*([product(inertia, own)] if inertia else []), *([drag] if drag else [])]

    @property
    def _early_acceleration(self) -> Symbol:
        """The acceleration, rounded before it is used."""
        value = self.acceleration.value
        digits = "" if value is None else str(rounded(value, TOO_FEW).decimal)
        early = _early(self.acceleration, "acceleration", "rounded")
        return replace(early, value=float(digits) if digits else None, written=digits)

    @property
    def pull(self) -> Expression:
        """The tension on the hanging weight."""
        return as_expression(self.tension(self.string, self.weight))

    @property
    def early_pull(self) -> Equation:
        """What it comes to with the acceleration rounded."""
        early, value = self._early_acceleration, None
        if early.value is not None:
            value = self.mass_kg(self.weight) * (float(self.apparatus.gravity) - early.value)
        tree = as_expression(self.mass(self.weight)) * (as_expression(self.gravity) - early)
        left = _early(self.tension(self.string, self.weight), "tension", "tension-rounded")
        left = replace(left, value=value, written="", aside=True)
        return Equation(left=as_expression(left), right=tree, numbers=self.numbers)


def _early(right: Symbol, name: str, kind: str) -> Symbol:
    """A quantity that a value rounded too early gives."""
    meaning = title(f"meanings.{kind}")
    return replace(right, id=f"{name}.early", subscript="early", meaning=meaning)
