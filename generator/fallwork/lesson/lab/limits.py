"""Limiting cases: which givens are extreme, and to what each quantity tends then."""

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

from fallwork.lesson.document import Relation
from fallwork.lesson.expression import (
    Expression,
    Function,
    Number,
    Power,
    Symbol,
    children,
    evaluate,
)
from fallwork.lesson.lab.base import Base
from fallwork.lesson.lab.solving import inner_forces
from fallwork.lesson.trees import ONE, ZERO, over, parted, product, rebuilt, scaled, signed, total

# How many times heavier than all others one object is made to look at a limit, as ``limits.md.j2``
# says: so many that formulas come as near to it as results have figures.
EXTREME = 1_000_000
Claims = Iterable[tuple[Symbol | None, Expression]]  # None where there is no such symbol
Changes = Mapping[str, float]  # other values of givens by the ids of their symbols, in their units


@dataclass(frozen=True)
class Claim:
    """A quantity and what it tends to; both trees are in the givens."""

    symbol: Symbol
    limit: Expression
    formula: Expression
    value: float | None  # of the formula in the case, where the lesson has numbers
    letter: Symbol | None  # for the limit, where numbers stand in it that need working out
    arrow: Relation  # a → 0


@dataclass(frozen=True, kw_only=True)
class Limit:
    """One case."""

    id: str  # also the mark of symbols in it
    of: Sequence[str]  # the things that it is about
    changes: Changes
    claims: tuple[Claim, ...] = ()
    made: Relation | None = None  # what is changed, as a formula
    outcome: str = ""  # what must come out, where no formula says it: a key
    load: tuple[Symbol, Expression] | None = None  # a mass that the case is about


class Limits(Base):
    """Limiting cases."""

    @cached_property
    def limits(self) -> tuple[Limit, ...]:
        """The cases; ``changes`` are there without numbers too."""
        if not self.moves:
            return tuple(self._at_rest())
        if not all(map(self.sliding, self.sliders)) or self.constant or self.turns_within:
            return ()
        return tuple(self._of_one_motion() if self.tied else self._of_several_motions())

    @property
    def start_condition(self) -> Relation:
        """The condition under which a run starts from rest."""
        drives, holds = _sides(self)
        rubbing = self.kinetic_frictions
        static = {self.coefficient(n).id: self.static_coefficient(n) for n in rubbing}
        return Relation(sides=(drives, rebuilt(holds, {**static})), signs=(">",))

    def _of_one_motion(self) -> Iterator[Limit]:
        rubbing = list(self.kinetic_frictions)
        yield from self._without("smooth", rubbing, map(self.coefficient, rubbing))
        body = self.driver or (self.weight if self.is_plain else None)
        if body is not None and len(self.movers) > 1:
            yield from self._balanced(body)
            yield self._light(body)
            yield self._heavy(body)
        yield from self._sloping()
        ends = [name for name in self.sliders if len(self.strings_at(name)) == 1]
        for rear in ends[:1] if len(self.sliders) > 1 else ():  # a train's last cart
            if self.ratio(rear) == 1 and not self.wheels_kg(rear):
                yield from self._without("less", [rear], [self.mass(rear)])
        yield from self._without("wheels", self.wheeled, map(self.wheel_mass, self.wheeled))
        drags = [name for name in self.rotors if self.pulleys[name].bearing_torque]
        gone = [*map(self.inertia, self.heavy), *map(self.bearing_torque, drags)]
        yield from self._without("ideal", self.rotors, gone)

    def _without(self, mark: str, of: Sequence[str], gone: Iterable[Symbol]) -> Iterator[Limit]:
        """Some givens zero: what is left, but not where the motion would turn round then."""
        zeros: dict[str, Expression] = {symbol.id: ZERO for symbol in gone}
        changes = dict.fromkeys(zeros, 0.0)
        turns = evaluate(self.public.acceleration_in_full, changes) < 0.0
        if zeros and (self.starts_moving or not turns):
            left = rebuilt(self.acceleration_in_full, zeros)
            yield self._limit(mark, of, changes, [(self.acceleration, left)])

    def _balanced(self, body: str) -> Iterator[Limit]:
        """The hanging mass with which nothing gets faster or slower."""
        sides, mass = _sides(self), self.mass(body).id
        if ZERO in sides:
            return
        first, second = _sides(self.public)
        none, one = (evaluate(first, {mass: m}) - evaluate(second, {mass: m}) for m in (0.0, 1.0))
        balance = -none / (one - none)
        if balance > 0.0:
            carried = self._tension_on(body), self.gravity_on(body)
            claims = [(self.acceleration, ZERO), carried]
            yield self._limit("balance", [body], {mass: balance}, claims, made=_arrow(*sides))

    def _light(self, body: str) -> Limit:
        """A very light hanging mass: static friction holds all, the others win, or a formula."""
        mass, others = self.mass(body), [name for name in self.movers if name != body]
        changes, gone = {mass.id: self.mass_kg(body) / EXTREME}, _arrow(mass, ZERO)
        smooth = {self.coefficient(name).id: 0.0 for name in self.kinetic_frictions}
        known = self.public
        masses, forces = known.driving_of(self.movers)
        drive = evaluate(total(masses), {mass.id: 0.0, **smooth})
        drive = drive * float(self.apparatus.gravity) + evaluate(total(forces))
        grip = 0.0  # N, the most that static friction and bearings can hold
        if not self.starts_moving:
            rough = ((name, known.static_coefficient(name)) for name in self.sliders)
            holds = [scaled(self.ratio(n), product(mu, known.normal_in_full(n))) for n, mu in rough]
            grip = evaluate(total([*holds, *(-drag for drag in known.drags())]))
        if grip and (abs(drive) <= grip or drive < 0.0):
            outcome = "rests" if abs(drive) <= grip else "goes-back"
            return self._limit("light", [body], changes, made=gone, outcome=outcome)
        zeros: dict[str, Expression] = {mass.id: ZERO}
        ideal = not (self.rotors or self.givers)
        if len(others) == 1 and ideal and not self.wheels_kg(others[0]):
            zeros[self.mass(others[0]).id] = ONE  # alone, its mass cancels
        full = rebuilt(self.acceleration_in_full, zeros)
        carried = self._tension_on(body) if full == ZERO else None, self.gravity_on(body)
        claims = [(self.acceleration, full), carried]
        return self._limit("light", [body], changes, claims, made=gone)

    def _heavy(self, body: str) -> Limit:
        """A very heavy hanging mass: it falls freely, and the others go with it."""
        others = [name for name in self.movers if name != body]
        changes = {self.mass(body).id: EXTREME * sum(map(self.mass_kg, others))}
        sense, common = self.senses[body], scaled(1 / self.ratio(body), self.gravity)
        claims = [(self.acceleration, signed(sense, common))]
        name = max(others, key=self.ratio)
        if self.ratio(name) != self.ratio(body):
            far = signed(sense, scaled(self.ratio(name), common))
            claims.append((self.acceleration_of(name), far))
        pull = self._tension_on(name)
        if len(others) == 1 and (sense > 0 or self.starts_moving) and pull is not None:
            needed = self.gravity_on(name)  # its mass times g
            sign, rubs, outer = self.inner(name)[0].sign, self.frictions.get(name), []
            for term in self.outer(name):
                size = self.friction_in_full(name) if term.size == rubs else term.size
                outer.append(signed(-sign * term.sign, size))
            weights = total([signed(sign * sense, needed), *outer])
            claims.append((pull, product(2, needed) if outer == [needed] else weights))
        return self._limit("heavy", [body], changes, claims)

    def _sloping(self) -> Iterator[Limit]:
        """A slope made level and made upright: the known formulas come back."""
        sloping = [name for name in self.sliders if self.sine(name)]
        surface = next((s for s in self.apparatus.surfaces if {*self.riders(s)} & {*sloping}), None)
        if surface is None:
            return
        theta = self.slope(surface)
        sine, cosine = (Function(name=n, argument=theta) for n in ("sin", "cos"))
        cases = (("level", 0.0, ZERO, ONE), ("upright", 90.0, ONE, ZERO))
        for mark, degrees, opposite, adjacent in cases:
            left = rebuilt(self.acceleration_in_full, {}, {sine: opposite, cosine: adjacent})
            if degrees or self.driver is not None:
                yield self._limit(mark, [surface], {theta.id: degrees}, [(self.acceleration, left)])

    def _at_rest(self) -> Iterator[Limit]:
        if not self.is_plain or self.climb <= 0:
            return
        slider, rubbing = self.slider, self.acting("friction", self.slider)
        sine = self.sine(slider)
        if sine is None or slider not in self.frictions or rubbing is None:
            return
        friction, mass = self.friction(slider), self.mass(self.weight)
        alone = product(self.mass(slider), self.gravity, sine)
        up = rubbing.along * self.slope_rad(slider) > 0
        claims = [(friction, signed(1 if up else -1, alone))]
        outcome, gone = "stays" if self.clings(slider) else "slides", _arrow(mass, ZERO)
        yield self._limit("unloaded", [slider], {mass.id: 0.0}, claims, made=gone, outcome=outcome)
        balance = self.mass_kg(slider) * math.sin(abs(self.slope_rad(slider)))
        held = [(friction, ZERO), (self.tension(self.string, self.weight), alone)]
        share = _arrow(mass, product(self.mass(slider), sine))
        yield self._limit("unneeded", [slider], {mass.id: balance}, held, made=share)

    # ---- several free motions: a pair on a pulley that hangs from a string, else one weight heavy

    def _of_several_motions(self) -> Iterator[Limit]:
        counts = len(self.hanging), len(self.movers), len(self.taut), len(self.light_pulleys)
        if counts == (3, 4, 2, 1) and not self.rotors and not self.carried:
            (lift,), paths = self.lifts, [self.apparatus.strings[name].path for name in self.taut]
            lower = next((p for p in paths if p[1:-1] == (lift,)), None)
            upper = next((p for p in paths if lift in (p[0], p[-1]) and len(p) == 3), None)
            if lower and upper:
                counter = upper[0] if upper[-1] == lift else upper[-1]
                yield from self._of_pair(counter, lower[0], lower[-1])
                return
        if self.driver is not None and not self.rotors:
            others = sum(self.mass_kg(name) for name in self.movers if name != self.driver)
            changes = {self.mass(self.driver).id: EXTREME * others}
            claims = [(self.acceleration_of(self.driver), self.gravity)]
            limit = self._limit("heavy", [self.driver], changes, claims)
            if limit.claims:
                yield limit

    def _of_pair(self, counter: str, first: str, second: str) -> Iterator[Limit]:
        """``counter`` pulls the pulley up, the two others hang from it."""
        g = self.gravity
        mass, one, two = (self.mass(name) for name in (counter, first, second))
        a = {name: self.acceleration_of(name) for name in (counter, first, second)}
        upper, lower = (self.tension(self.strings_at(n)[0], n) for n in (counter, first))
        full = product(4, one, two) / total([one, two])
        names = {"first": self.the(first), "second": self.the(second)}
        load = self.symbol("pair-mass", "", full, **names)
        down = {name: signed(self.senses[name], g) for name in a}
        drive = product(total([mass, -load]), g) / total([mass, load])
        drives = [(a[counter], signed(self.senses[counter], drive))]
        yield replace(self._limit("effective", [], {}, drives), load=(load, full))
        halves = dict.fromkeys((one.id, two.id), self.mass_kg(counter) / 2)
        still = [*((symbol, ZERO) for symbol in a.values()), (upper, product(mass, g))]
        yield self._limit("even", [counter], halves, [*still, (lower, product(one, g))])
        others = EXTREME * (self.mass_kg(first) + self.mass_kg(second))
        falls = [(a[counter], down[counter]), (lower, product(load, g))]
        yield self._limit("heavy", [counter], {mass.id: others}, falls)
        free = [(lower, ZERO), *((a[name], down[name]) for name in (counter, second))]
        rest = {one.id: self.mass_kg(first) / EXTREME}
        yield self._limit("light", [first], rest, free, made=_arrow(one, ZERO))

    @cached_property
    def _formulas(self) -> Mapping[str, Expression]:
        """Accelerations and inner forces by the ids of their symbols, in the givens."""
        found = {self.friction(n).id: self.friction_in_full(n) for n in self.kinetic_frictions}
        free = None if self.tied else self.solved_together
        solved = (*free.forces, *free.accelerations) if free else inner_forces(self)[0]
        if self.tied and self.moves:
            found[self.acceleration.id] = common = self.acceleration_in_full
            for name in self.movers:
                found[self.acceleration_of(name).id] = scaled(self.ratio(name), common)
        for one in solved:
            found[one.symbol.id] = rebuilt(one.tree, found)
        return found

    def _limit(
        self, mark: str, of: Sequence[str], changes: Changes, claims: Claims = (), **more: Any
    ) -> Limit:
        told = []
        for symbol, tree in claims:
            if symbol is None or symbol.id not in self._formulas:
                continue
            letter = None
            if tree != ZERO and _counts(tree):
                case = self.marked(symbol, "limiting", mark, f".{mark}")
                letter = replace(case, value=self.value(tree), written="", aside=True)
            formula = self._formulas[symbol.id]
            value = evaluate(formula, changes) + 0.0 if self.numbers else None
            told.append(Claim(symbol, tree, formula, value, letter, _arrow(symbol, letter or tree)))
        return Limit(id=mark, of=of, changes=changes, claims=tuple(told), **more)

    def _tension_on(self, name: str) -> Symbol | None:
        terms = self.inner(name)
        size = terms[0].size if len(terms) == 1 else None
        return size if isinstance(size, Symbol) and name not in self.carried else None


def _arrow(left: Expression, right: Expression) -> Relation:
    return Relation(sides=(left, right), signs=("→",))


def _counts(tree: Expression) -> bool:
    """Whether numbers stand in a formula that need working out."""
    return isinstance(tree, Number | Power) or any(map(_counts, children(tree)))


def _sides(lab: Base) -> tuple[Expression, Expression]:
    """What drives and what holds back, as masses: the net driving force over g, in two parts."""
    masses, forces = lab.driving_of(lab.movers)
    return parted(total([*masses, *(over(f, lab.gravity) for f in (*forces, *lab.drags()))]))
