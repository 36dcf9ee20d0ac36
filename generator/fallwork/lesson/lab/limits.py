"""The limiting cases of a set-up: what must come out where some givens are extreme."""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from functools import cached_property

from fallwork.lesson.document import Inline, Relation
from fallwork.lesson.expression import (
    Expression,
    Function,
    Negative,
    Number,
    Operand,
    Quotient,
    Ref,
    Sum,
    Symbol,
    as_expression,
)
from fallwork.lesson.lab.base import Base
from fallwork.lesson.lab.limiting import EXTREME, Claim, Claims, Limit, arrow, counts, value_at
from fallwork.lesson.lab.solving import inner_forces
from fallwork.lesson.trees import ZERO, product, rebuilt, scaled, signed, total


class Limits(Base):
    """Limiting cases."""

    @cached_property
    def limits(self) -> tuple[Limit, ...]:
        """The cases; ``changes`` are there without numbers too."""
        if not self.moves:
            return tuple(self._at_rest())
        if not self.moves_freely or self.constant or self.turns_within:
            return ()
        return tuple(self._tied() if self.tied else self._free())

    @property
    def extremes(self) -> bool:
        """Whether a case makes an object very heavy or very light."""
        return any(limit.id in ("heavy", "light") for limit in self.limits)

    # ---- One acceleration settles all others.

    def _tied(self) -> Iterator[Limit]:
        rubbing = list(self.kinetic_frictions)
        smooth = list(dict.fromkeys(map(self.coefficient, rubbing)))
        yield from self._without("smooth", rubbing, smooth)
        body = self.driver or (self.weight if self.is_plain else None)
        if body is not None and len(self.movers) > 1:
            yield from self._balanced(body)
            yield self._light(body)
            yield self._heavy(body)
        yield from self._sloping()
        yield from self._one_less()
        wheeled = [name for name in self.sliders if self.wheels_kg(name)]
        yield from self._without("wheels", wheeled, [self.wheel_mass(name) for name in wheeled])
        heavy = [n for n in self.rotors if self.pulleys[n].inertia]
        drags = [n for n in self.rotors if self.pulleys[n].bearing_torque]
        gone = [*map(self.inertia, heavy), *map(self.bearing_torque, drags)]
        yield from self._without("ideal", self.rotors, gone)

    def _weighed(self, body: str) -> list[tuple[Symbol, Expression]]:
        """That the string just carries what hangs on it."""
        pull = self._tension_on(body)
        return [] if pull is None else [(pull, self.gravity_on(body))]

    def _balanced(self, body: str) -> Iterator[Limit]:
        """The hanging mass with which nothing gets faster or slower."""
        sides = _sides(self)
        mass = self.mass(body).id
        if ZERO in sides:
            return
        first, second = _sides(self.public)
        none, one = (value_at(first, {mass: m}) - value_at(second, {mass: m}) for m in (0.0, 1.0))
        balance = -none / (one - none)
        if balance > 0.0:
            claims = [(self.acceleration, ZERO), *self._weighed(body)]
            yield self._limit("balance", [body], {mass: balance}, claims, made=arrow(*sides))

    def _light(self, body: str) -> Limit:
        """A very light hanging mass: static friction holds all, the others win, or a formula."""
        mass, others = self.mass(body), [name for name in self.movers if name != body]
        changes, gone = {mass.id: self.mass_kg(body) / EXTREME}, arrow(mass, 0)
        known = self.public
        smooth = {self.coefficient(name).id: 0.0 for name in self.kinetic_frictions}
        drive = value_at(total(known.split.masses), {mass.id: 0.0, **smooth})
        drive *= float(self.apparatus.gravity)
        drive += value_at(total(known.split.forces), {})
        grip = 0.0 if self.starts_moving else self._grip
        if grip and abs(drive) <= grip:
            return self._limit("light", [body], changes, made=gone, outcome="rests")
        if grip and drive < 0.0:
            return self._limit("light", [body], changes, made=gone, outcome="goes-back")
        zeros: dict[str, Expression] = {mass.id: ZERO}
        ideal = not (self.rotors or self.givers)
        if len(others) == 1 and ideal and not self.wheels_kg(others[0]):
            zeros[self.mass(others[0]).id] = Number(value=1)  # alone, its mass cancels
        full = rebuilt(self.acceleration_in_full, zeros)
        claims = [(self.acceleration, full), *(self._weighed(body) if full == ZERO else [])]
        return self._limit("light", [body], changes, claims, made=gone)

    @property
    def _grip(self) -> float:
        """The most that static friction and bearings can hold, N."""
        frictions = (
            float(self.ratio(name)) * value_at(self.public.largest_friction(name), {})
            for name in self.sliders
        )
        return sum(frictions) + sum(value_at(-drag, {}) for drag in self.public.split.drags)

    @property
    def start_condition(self) -> Relation:
        """The condition under which a run starts from rest."""
        (drives, holds) = _sides(self)
        static: dict[str, Expression] = {
            self.coefficient(name).id: as_expression(self.static_coefficient(name))
            for name in self.kinetic_frictions
        }
        return Relation(sides=(drives, rebuilt(holds, static)), signs=(">",))

    def _heavy(self, body: str) -> Limit:
        """A very heavy hanging mass: it falls freely, and the others go with it."""
        others = [name for name in self.movers if name != body]
        changes = {self.mass(body).id: EXTREME * sum(map(self.mass_kg, others))}
        sense = self.senses[body]
        common = scaled(1 / self.ratio(body), self.gravity)
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
        pull = self._tension_on(name)
        if pull is None:
            return
        sign, needed = self.inner(name)[0].sign, self.gravity_on(name)  # its mass times g
        outer = []
        for term in self.outer(name):
            rubs = term.size == self.frictions.get(name)
            size = self.friction_in_full(name) if rubs else term.size
            outer.append(signed(-sign * term.sign, size))
        if outer == [needed]:
            yield pull, product(2, self.mass(name), self.gravity)
        else:
            yield pull, total([signed(sign * sense, needed), *outer])

    def _sloping(self) -> Iterator[Limit]:
        """A slope made level and made upright: the known formulas come back."""
        formula = self.acceleration_in_full
        for surface in self.apparatus.surfaces:
            riders = [n for n in self.sliders if self.surface_under(n) == surface]
            if not any(map(self.sine, riders)):
                continue
            theta = self.slope(surface)
            if self.driver is not None:
                level = [(self.acceleration, _with_slope(formula, theta, sine=0, cosine=1))]
                yield self._limit("level", [surface], {theta.id: 0.0}, level)
            steep = [(self.acceleration, _with_slope(formula, theta, sine=1, cosine=0))]
            yield self._limit("upright", [surface], {theta.id: 90.0}, steep)
            return

    def _one_less(self) -> Iterator[Limit]:
        """A train without its last cart: the formula of the others."""
        rear = next((n for n in self.sliders if len(self.strings_at(n)) == 1), None)
        if rear is None or len(self.sliders) < 2 or self.wheels_kg(rear):
            return
        if self.ratio(rear) == 1:
            yield from self._without("less", [rear], [self.mass(rear)])

    # ---- At rest: a block on a slope, held by a weight and by static friction.

    @property
    def tangent(self) -> Expression:
        """tan θ of the first object's slope."""
        theta = self.slope(self.surface)
        return Function(name="tan", argument=as_expression(theta))

    def _at_rest(self) -> Iterator[Limit]:
        if not self.is_plain or self.climb <= 0:
            return
        slider = self.slider
        sine = self.sine(slider)
        if sine is None or slider not in self.frictions:
            return
        friction, mass = self.friction(slider), self.mass(self.weight)
        rubbing = next(t for t in self.terms(slider) if t.size in self.frictions.values())
        up = (self.along(rubbing.force) or 0.0) * self.slope_rad(slider)
        alone = product(self.mass(slider), self.gravity, sine)
        grip = self.public.static_coefficient(slider).value
        assert grip is not None
        stays = math.tan(abs(self.slope_rad(slider))) <= grip
        claims = [(friction, signed(1 if up > 0 else -1, alone))]  # +1: it points up the slope
        outcome, gone = "stays" if stays else "slides", arrow(mass, 0)
        yield self._limit("unloaded", [slider], {mass.id: 0.0}, claims, made=gone, outcome=outcome)
        balance = self.mass_kg(slider) * math.sin(abs(self.slope_rad(slider)))
        held = [(friction, ZERO), (self.tension(self.string, self.weight), alone)]
        share = arrow(mass, product(self.mass(slider), sine))
        yield self._limit("unneeded", [slider], {mass.id: balance}, held, made=share)

    # ---- Several free motions: a pair on a pulley that hangs from a string, else one weight heavy.

    def _free(self) -> Iterator[Limit]:
        driver = self.driver
        pair = self._pair_on_a_string()
        if pair is not None:
            yield from self._of_pair(*pair)
        elif driver is not None and not self.rotors:
            others = sum(self.mass_kg(n) for n in self.movers if n != driver)
            claims = [(self.acceleration_of(driver), as_expression(self.gravity))]
            limit = self._limit("heavy", [driver], {self.mass(driver).id: EXTREME * others}, claims)
            if limit.claims:
                yield limit

    def _pair_on_a_string(self) -> tuple[str, str, str] | None:
        """What pulls the pulley up, and the two weights that hang from it; None for others."""
        counts = len(self.hanging), len(self.movers), len(self.taut), len(self.lifts)
        if counts != (3, 4, 2, 1) or self.rotors or self.carried:
            return None
        (lift,), paths = self.lifts, [s.path for s in self.apparatus.strings.values()]
        lower = next((p for p in paths if p[1:-1] == (lift,)), ())
        upper = next((p for p in paths if lift in (p[0], p[-1]) and len(p) == 3), ())
        if self.mass_kg(lift) or not lower or not upper:
            return None
        return (upper[0] if upper[-1] == lift else upper[-1]), lower[0], lower[-1]

    def _of_pair(self, counter: str, first: str, second: str) -> Iterator[Limit]:
        g = as_expression(self.gravity)
        mass, one, two = (self.mass(name) for name in (counter, first, second))
        a = {name: self.acceleration_of(name) for name in (counter, first, second)}
        upper, lower = (self._tension_on(name) for name in (counter, first))
        assert upper is not None
        assert lower is not None
        full = product(4, one, two) / total([one, two])
        load = self.symbol("pair-mass", "", full, first=self.the(first), second=self.the(second))

        def down(name: str, tree: Expression) -> Expression:
            return signed(self.senses[name], tree)

        drive = product(total([mass, -load]), g) / total([mass, load])
        effective = self._limit("effective", [], {}, [(a[counter], down(counter, drive))])
        yield replace(effective, load=(load, full))
        halves = dict.fromkeys((one.id, two.id), self.mass_kg(counter) / 2)
        still = [*((symbol, ZERO) for symbol in a.values()), (upper, product(mass, g))]
        yield self._limit("even", [counter], halves, [*still, (lower, product(one, g))])
        others = EXTREME * (self.mass_kg(first) + self.mass_kg(second))
        falls = [(a[counter], down(counter, g)), (lower, product(load, g))]
        yield self._limit("heavy", [counter], {mass.id: others}, falls)
        free = [(lower, ZERO), (a[counter], down(counter, g)), (a[second], down(second, g))]
        rest = {one.id: self.mass_kg(first) / EXTREME}
        yield self._limit("light", [first], rest, free, made=arrow(one, 0))

    # ---- what the cases share

    factor_of_extremes = EXTREME

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
        formulas = self._formulas
        told = tuple(
            Claim(
                symbol=symbol,
                limit=tree,
                formula=formulas[symbol.id],
                letter=self._letter(symbol, mark, tree),
            )
            for symbol, tree in claims
            if symbol.id in formulas
        )
        return Limit(id=mark, of=of, changes=changes, claims=told, made=made, outcome=outcome)

    def _letter(self, symbol: Symbol, mark: str, limit: Expression) -> Symbol | None:
        if limit == ZERO or not counts(limit):
            return None
        case = self.marked(symbol, "limiting", mark, f".{mark}")
        return replace(case, value=self.value(limit), written="", aside=True)

    def _without(self, mark: str, of: Sequence[str], gone: Sequence[Symbol]) -> Iterator[Limit]:
        """The case in which some givens are zero: the formula that is left.

        Not where the motion would turn round without them, and friction with it.
        """
        if not gone:
            return
        zeros: dict[str, Expression] = {symbol.id: ZERO for symbol in gone}
        left = rebuilt(self.acceleration_in_full, zeros)
        changes = dict.fromkeys(zeros, 0.0)
        turns = value_at(self.public.acceleration_in_full, changes) < 0.0
        if self.starts_moving or not turns:
            yield self._limit(mark, of, changes, [(self.acceleration, left)])

    def _tension_on(self, name: str) -> Symbol | None:
        """The tension of the one string that holds an object."""
        terms = self.inner(name)
        size = terms[0].size if len(terms) == 1 else None
        carried = name in self.carried
        return size.symbol if isinstance(size, Ref) and not carried else None

    def amount_in(self, limit: Limit, claim: Claim) -> Inline:
        """What the formula of a quantity gives in a case, as an amount."""
        return self.amount(value_at(claim.formula, limit.changes), claim.symbol.unit)


def _sides(lab: Base) -> tuple[Expression, Expression]:
    """What drives and what holds back, as masses: the net driving force over g, in two parts."""
    g = lab.gravity
    terms = [*lab.split.masses, *(_over(force, g) for force in lab.split.beside)]
    parts = [p for term in terms for p in (term.terms if isinstance(term, Sum) else (term,))]
    minus = [part.body for part in parts if isinstance(part, Negative)]
    return total(part for part in parts if not isinstance(part, Negative)), total(minus)


def _over(tree: Expression, divisor: Operand) -> Expression:
    """A tree divided, in one fraction where it is one already."""
    if isinstance(tree, Negative):
        return -_over(tree.body, divisor)
    if isinstance(tree, Quotient):
        return tree.top / product(tree.bottom, divisor)
    return tree / divisor


def _with_slope(tree: Expression, theta: Symbol, *, sine: int, cosine: int) -> Expression:
    values: dict[Expression, Expression] = {
        Function(name="sin", argument=as_expression(theta)): Number(value=sine),
        Function(name="cos", argument=as_expression(theta)): Number(value=cosine),
    }
    return rebuilt(tree, {}, values)
