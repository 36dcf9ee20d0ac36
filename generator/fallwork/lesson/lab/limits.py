"""The limiting cases of a set-up: what must come out where some givens are extreme.

Each says which givens change, and to what each quantity then tends. With numbers the formulas are
evaluated there.
"""

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from functools import cached_property

from fallwork.lesson.document import Inline, Relation
from fallwork.lesson.expression import Expression, Function, Number, Symbol, evaluate
from fallwork.lesson.lab.base import Base
from fallwork.lesson.lab.cases import EXTREME, Claim, Claims, Limit, arrow, counts, sides_of
from fallwork.lesson.lab.solving import inner_forces
from fallwork.lesson.trees import ZERO, product, rebuilt, scaled, signed, total

ONE = Number(value=1)


class Limits(Base):
    """Limiting cases."""

    factor_of_extremes = EXTREME

    @cached_property
    def limits(self) -> tuple[Limit, ...]:
        """The cases; ``changes`` are there without numbers too."""
        if not self.moves:
            return tuple(self._at_rest())
        if not self.moves_freely or self.constant or self.turns_within:
            return ()
        return tuple(self._of_one_motion() if self.tied else self._of_several_motions())

    def amount_in(self, limit: Limit, claim: Claim) -> Inline:
        """What the formula of a quantity gives in a case, as an amount."""
        return self.amount(evaluate(claim.formula, limit.changes) + 0.0, claim.symbol.unit)

    # ---- one acceleration settles all others

    def _of_one_motion(self) -> Iterator[Limit]:
        rubbing = list(self.kinetic_frictions)
        yield from self._without("smooth", rubbing, dict.fromkeys(map(self.coefficient, rubbing)))
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
        """The case in which some givens are zero: the formula that is left.

        Not where the motion would turn round without them, and friction with it.
        """
        zeros: dict[str, Expression] = {symbol.id: ZERO for symbol in gone}
        changes = dict.fromkeys(zeros, 0.0)
        turns = evaluate(self.public.acceleration_in_full, changes) < 0.0
        if zeros and (self.starts_moving or not turns):
            left = rebuilt(self.acceleration_in_full, zeros)
            yield self._limit(mark, of, changes, [(self.acceleration, left)])

    def _balanced(self, body: str) -> Iterator[Limit]:
        """The hanging mass with which nothing gets faster or slower."""
        sides, mass = sides_of(self), self.mass(body).id
        if ZERO in sides:
            return
        first, second = sides_of(self.public)
        none, one = (evaluate(first, {mass: m}) - evaluate(second, {mass: m}) for m in (0.0, 1.0))
        balance = -none / (one - none)
        if balance > 0.0:
            claims = [(self.acceleration, ZERO), *self._weighed(body)]
            yield self._limit("balance", [body], {mass: balance}, claims, made=arrow(*sides))

    def _weighed(self, body: str) -> list[tuple[Symbol, Expression]]:
        """That the string just carries what hangs on it."""
        pull = self._tension_on(body)
        return [] if pull is None else [(pull, self.gravity_on(body))]

    def _light(self, body: str) -> Limit:
        """A very light hanging mass: static friction holds all, the others win, or a formula."""
        mass, others = self.mass(body), [name for name in self.movers if name != body]
        changes, gone = {mass.id: self.mass_kg(body) / EXTREME}, arrow(mass, 0)
        smooth = {self.coefficient(name).id: 0.0 for name in self.kinetic_frictions}
        split = self.public.split
        drive = evaluate(total(split.masses), {mass.id: 0.0, **smooth})
        drive = drive * float(self.apparatus.gravity) + evaluate(total(split.forces))
        grip = 0.0 if self.starts_moving else self._largest_hold
        if grip and (abs(drive) <= grip or drive < 0.0):
            outcome = "rests" if abs(drive) <= grip else "goes-back"
            return self._limit("light", [body], changes, made=gone, outcome=outcome)
        zeros: dict[str, Expression] = {mass.id: ZERO}
        ideal = not (self.rotors or self.givers)
        if len(others) == 1 and ideal and not self.wheels_kg(others[0]):
            zeros[self.mass(others[0]).id] = ONE  # alone, its mass cancels
        full = rebuilt(self.acceleration_in_full, zeros)
        claims = [(self.acceleration, full), *(self._weighed(body) if full == ZERO else [])]
        return self._limit("light", [body], changes, claims, made=gone)

    @property
    def _largest_hold(self) -> float:
        """The most that static friction and bearings can hold, N."""
        known = self.public
        largest = {
            n: product(known.static_coefficient(n), known.normal_in_full(n)) for n in self.sliders
        }
        frictions = [scaled(self.ratio(name), tree) for name, tree in largest.items()]
        return evaluate(total([*frictions, *(-drag for drag in known.split.drags)]))

    @property
    def start_condition(self) -> Relation:
        """The condition under which a run starts from rest."""
        drives, holds = sides_of(self)
        static: dict[str, Expression] = {
            self.coefficient(name).id: self.static_coefficient(name)
            for name in self.kinetic_frictions
        }
        return Relation(sides=(drives, rebuilt(holds, static)), signs=(">",))

    def _heavy(self, body: str) -> Limit:
        """A very heavy hanging mass: it falls freely, and the others go with it."""
        others = [name for name in self.movers if name != body]
        changes = {self.mass(body).id: EXTREME * sum(map(self.mass_kg, others))}
        sense, common = self.senses[body], scaled(1 / self.ratio(body), self.gravity)
        claims: list[tuple[Symbol, Expression]] = [(self.acceleration, signed(sense, common))]
        farthest = max(others, key=self.ratio)
        if self.ratio(farthest) != self.ratio(body):
            far = signed(sense, scaled(self.ratio(farthest), common))
            claims.append((self.acceleration_of(farthest), far))
        if len(others) == 1 and (sense > 0 or self.starts_moving):
            claims += self._pulled(others[0], sense)
        return self._limit("heavy", [body], changes, claims)

    def _pulled(self, name: str, sense: int) -> Iterator[tuple[Symbol, Expression]]:
        """The tension that gives an object the acceleration g, in the lesson's sense or against."""
        pull, needed = self._tension_on(name), self.gravity_on(name)  # its mass times g
        if pull is None:
            return
        sign = self.inner(name)[0].sign
        sizes = {n: self.friction_in_full(n) for n in self.frictions}
        outer = []
        for term in self.outer(name):
            rubs = term.size == self.frictions.get(name)
            outer.append(signed(-sign * term.sign, sizes[name] if rubs else term.size))
        twice = product(2, self.mass(name), self.gravity)
        yield pull, twice if outer == [needed] else total([signed(sign * sense, needed), *outer])

    def _sloping(self) -> Iterator[Limit]:
        """A slope made level and made upright: the known formulas come back."""
        sloping = [name for name in self.sliders if self.sine(name)]
        surface = next((s for s in self.apparatus.surfaces if {*self.riders(s)} & {*sloping}), None)
        if surface is None:
            return
        theta = self.slope(surface)
        sine, cosine = (Function(name=n, argument=theta) for n in ("sin", "cos"))
        for mark, degrees in (("level", 0), ("upright", 90)):
            values: dict[Expression, Expression] = {sine: ZERO, cosine: ONE}
            if degrees:
                values = {sine: ONE, cosine: ZERO}
            left = rebuilt(self.acceleration_in_full, {}, values)
            if degrees or self.driver is not None:
                claims = [(self.acceleration, left)]
                yield self._limit(mark, [surface], {theta.id: float(degrees)}, claims)

    # ---- at rest: a block on a slope, held by a weight and by static friction

    @property
    def tangent(self) -> Expression:
        """tan θ of the first object's slope."""
        return Function(name="tan", argument=self.slope(self.surface))

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
        outcome, gone = "stays" if self.clings(slider) else "slides", arrow(mass, 0)
        yield self._limit("unloaded", [slider], {mass.id: 0.0}, claims, made=gone, outcome=outcome)
        balance = self.mass_kg(slider) * math.sin(abs(self.slope_rad(slider)))
        held = [(friction, ZERO), (self.tension(self.string, self.weight), alone)]
        share = arrow(mass, product(self.mass(slider), sine))
        yield self._limit("unneeded", [slider], {mass.id: balance}, held, made=share)

    # ---- several free motions: a pair on a pulley that hangs from a string, else one weight heavy

    def _of_several_motions(self) -> Iterator[Limit]:
        driver, pair = self.driver, self._pair_on_a_string()
        if pair is not None:
            yield from self._of_pair(*pair)
        elif driver is not None and not self.rotors:
            others = sum(self.mass_kg(n) for n in self.movers if n != driver)
            claims = [(self.acceleration_of(driver), self.gravity)]
            limit = self._limit("heavy", [driver], {self.mass(driver).id: EXTREME * others}, claims)
            if limit.claims:
                yield limit

    def _pair_on_a_string(self) -> tuple[str, str, str] | None:
        """What pulls the pulley up, and the two weights that hang from it; None for others."""
        counts = len(self.hanging), len(self.movers), len(self.taut), len(self.light_pulleys)
        if counts != (3, 4, 2, 1) or self.rotors or self.carried:
            return None
        (lift,), paths = self.lifts, list(map(self.path_of, self.taut))
        lower = next((p for p in paths if p[1:-1] == (lift,)), ())
        upper = next((p for p in paths if lift in (p[0], p[-1]) and len(p) == 3), ())
        if not lower or not upper:
            return None
        return (upper[0] if upper[-1] == lift else upper[-1]), lower[0], lower[-1]

    def _of_pair(self, counter: str, first: str, second: str) -> Iterator[Limit]:
        g = self.gravity
        mass, one, two = (self.mass(name) for name in (counter, first, second))
        a = {name: self.acceleration_of(name) for name in (counter, first, second)}
        upper, lower = (self._tension_on(name) for name in (counter, first))
        assert upper is not None
        assert lower is not None
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
        yield self._limit("light", [first], rest, free, made=arrow(one, 0))

    # ---- what the cases share

    @cached_property
    def _formulas(self) -> Mapping[str, Expression]:
        """Accelerations and inner forces by the ids of their symbols, in the givens."""
        found = {self.friction(n).id: self.friction_in_full(n) for n in self.kinetic_frictions}
        free = None if self.tied else self.solved_together
        solved = (*free.forces, *free.accelerations) if free else inner_forces(self)[0]
        if self.tied and self.moves:
            common = self.acceleration_in_full
            for name in self.movers:
                found[self.acceleration_of(name).id] = scaled(self.ratio(name), common)
            found[self.acceleration.id] = common
        for one in solved:
            found[one.symbol.id] = rebuilt(one.tree, found)
        return found

    def _limit(
        self,
        mark: str,
        of: Sequence[str],
        changes: Mapping[str, float],
        claims: Claims = (),
        *,
        made: Relation | None = None,
        outcome: str = "",
    ) -> Limit:
        told = []
        for symbol, tree in (each for each in claims if each[0].id in self._formulas):
            letter = None
            if tree != ZERO and counts(tree):
                case = self.marked(symbol, "limiting", mark, f".{mark}")
                letter = replace(case, value=self.value(tree), written="", aside=True)
            formula = self._formulas[symbol.id]
            told.append(Claim(symbol=symbol, limit=tree, formula=formula, letter=letter))
        claimed = tuple(told)
        return Limit(id=mark, of=of, changes=changes, claims=claimed, made=made, outcome=outcome)

    def _tension_on(self, name: str) -> Symbol | None:
        """The tension of the one string that holds an object."""
        terms = self.inner(name)
        size = terms[0].size if len(terms) == 1 else None
        return size if isinstance(size, Symbol) and name not in self.carried else None
