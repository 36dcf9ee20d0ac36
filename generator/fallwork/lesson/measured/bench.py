"""What the steps at the bench and about the report ask: what is weighed and measured before the
trials, tables to fill in, and a value rounded too early.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from functools import cached_property

from fallwork.lesson.document import Given
from fallwork.lesson.expression import Expression, Symbol
from fallwork.lesson.givens import givens_of
from fallwork.lesson.lab.motion import Motion
from fallwork.lesson.lab.newton import Newton
from fallwork.lesson.measured.trials import Trials
from fallwork.lesson.measured.words import title
from fallwork.lesson.rounding import rounded
from fallwork.lesson.trees import product, scaled, signed, total
from fallwork.lesson.words import upper_first
from fallwork.measurement.energies import is_measured
from fallwork.measurement.model import Measurand
from fallwork.mechanics.algebra import bonds
from fallwork.mechanics.solution import Interaction
from fallwork.scenario import Pulley

TOO_FEW = 1  # figures


class Bench(Trials, Newton, Motion):
    """Before the trials, and what is handed in after them."""

    @cached_property
    def held_pull(self) -> Expression | None:
        """The pull while the watched object is held and everything else hangs from its string.

        Without what bearings take. None where other friction could have a share in it, or the slope
        of something that isn't held.
        """
        sloping = any(self.slope_rad(name) for name in self.sliders if name != self.watched)
        if not self.tied or sloping or self.watched not in self.movers:
            return None
        others = [n for n in self.movers if n not in (self.watched, *self.sliders)]
        paths = [self.apparatus.strings[name].path for name in self.strings_at(self.watched)]
        leading = [path for path in paths if set(path) - {self.watched, *self.sliders}]
        if not others or len(leading) != 1:
            return None
        pulls = [
            signed(self.senses[name], scaled(self.ratio(name), self.gravity_on(name)))
            for name in others
            if self.mass_kg(name)
        ]
        way = -1 if self.pulled_back else 1
        return scaled(Fraction(way) / self.ratio(self.watched), total(pulls))

    @property
    def held_drag(self) -> Expression | None:
        """The most that friction in bearings can take from that pull or add to it."""
        drags = [(name, self.rotor_drag(name)) for name in self.rotors]
        parts = [scaled(self.rim(name), drag) for name, drag in drags if drag is not None]
        return scaled(1 / Fraction(self.ratio(self.watched)), total(parts)) if parts else None

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
        objects, string = self.scenario.objects, self.view.string
        path = () if string is None else self.scenario.strings[string].path
        return any(isinstance(objects[name], Pulley) for name in path)

    @property
    def givens(self) -> Sequence[Given]:
        """What is given."""
        return givens_of(self)

    @property
    def massless(self) -> Sequence[str]:
        """The movers that have no mass in the model, with their articles."""
        return [self.the(name) for name in self.movers if not self.mass_kg(name)]

    # ---- at rest

    @cached_property
    def holding(self) -> Mapping[str, Symbol]:
        """The heaviest and the lightest hanging mass for which static friction holds."""
        return {which: each.symbol for which, each in self.limiting_masses.items()}

    @property
    def grip_found(self) -> Expression:
        """The coefficient of static friction as these two masses give it."""
        limits, sine = self.holding, self.sine(self.slider)
        cosine = self.cosine(self.slider)
        mass = product(self.mass(self.slider), *([] if cosine is None else [cosine]))
        most = limits["most"]
        if "least" in limits:
            return total([most, -limits["least"]]) / product(2, mass)
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
        pulls = [f for f in self.phase.forces if f.interaction is Interaction.TENSION]
        pulls = [f for f in pulls if f.work or (f.work is None and f.reason is None)]
        unread = [each for each in pulls if not is_measured(each, self.view, self.phase)]
        for system in self.scenario.systems:
            inside = system.members
            outer = [f for f in unread if f.on in inside and f.partner not in inside]
            ends = [name for force in outer for name in (force.partner, force.on)]
            names = dict.fromkeys(name for name in ends if name in self.apparatus.strings)
            if names:
                found[system.id] = [self.the(name) for name in names]
        return found

    @property
    def loose(self) -> Sequence[str]:
        """The movers whose motion no sensor follows and no taut string ties to the watched one."""
        chosen, size = self.rigging.of_object[self.watched], len(self.rigging.coordinates)
        order = [*(at for at in range(size) if at != chosen), chosen]
        rows = self.rigging.stretch_matrix()[sorted(self.taut_spans)][:, order]
        tied = {order[column] for column, by in bonds(rows) if not any(by[:-1])} | {chosen}
        free = (name for name in self.movers if self.rigging.of_object[name] not in tied)
        return [name for name in free if not self.rests(name)]

    @property
    def unfollowed(self) -> Mapping[str, Sequence[str]]:
        """By the id of a featured system, its members with mass whose motion isn't measured."""
        heavy = [name for name in self.loose if self.mass_kg(name)]
        held = {s.id: [n for n in heavy if n in s.members] for s in self.scenario.systems}
        return {id_: [self.the(name) for name in names] for id_, names in held.items() if names}

    @property
    def early_acceleration(self) -> Symbol:
        """The acceleration, rounded before it is used."""
        right, meaning = self.acceleration, title("meanings.rounded")
        digits = "" if right.value is None else str(rounded(right.value, TOO_FEW).decimal)
        early = replace(right, id="acceleration.early", subscript="early", meaning=meaning)
        return replace(early, value=float(digits) if digits else None, written=digits)

    @property
    def early_tension(self) -> Symbol:
        """What the tension on the weight comes to with that."""
        right, meaning = self.tension(self.string, self.weight), title("meanings.tension-rounded")
        early, value = self.early_acceleration.value, None
        if early is not None:
            value = self.mass_kg(self.weight) * (float(self.apparatus.gravity) - early)
        found = replace(right, id="tension.early", subscript="early", meaning=meaning)
        return replace(found, value=value, written="", aside=True)
