"""The limiting cases of a set-up: what must come out where some givens are extreme."""

import math
from collections.abc import Iterator
from dataclasses import replace
from functools import cached_property

from fallwork.lesson.context import Context
from fallwork.lesson.document import Relation
from fallwork.lesson.expression import (
    Expression,
    Function,
    Negative,
    Number,
    Operand,
    Product,
    Quotient,
    Sum,
    Symbol,
    as_expression,
)
from fallwork.lesson.lab.limiting import EXTREME, Limit, Limiting, arrow, value_at
from fallwork.lesson.trees import ZERO, product, rebuilt, scaled, signed, total


class Limits(Limiting):
    """Limiting cases."""

    @cached_property
    def limits(self) -> tuple[Limit, ...]:
        """The cases; ``changes`` are there without numbers too."""
        if not self.setting.moves:
            return tuple(self._at_rest())
        if not self.context.moves_freely or self.setting.constant or self.setting.turns_within:
            return ()
        return tuple(self._tied() if self.setting.tied else self._free())

    @property
    def extremes(self) -> bool:
        """Whether a case makes an object very heavy or very light."""
        return any(limit.id in ("heavy", "light") for limit in self.limits)

    # ---- One acceleration settles all others.

    def _tied(self) -> Iterator[Limit]:
        context, names, setting = self.context, self.names, self.setting
        rubbing = list(context.motion.kinetic_frictions)
        smooth = list(dict.fromkeys(map(names.coefficient, rubbing)))
        yield from self._without("smooth", rubbing, smooth)
        body = context.driver or (context.weight if context.is_plain else None)
        if body is not None and len(setting.movers) > 1:
            yield from self._balanced(body)
            yield self._light(body)
            yield self._heavy(body)
        yield from self._sloping()
        yield from self._one_less()
        wheeled = [name for name in setting.sliders if setting.wheel_mass(name)]
        yield from self._without("wheels", wheeled, [names.wheel_mass(name) for name in wheeled])
        heavy = [n for n in setting.rotors if setting.pulleys[n].inertia]
        drags = [n for n in setting.rotors if setting.pulleys[n].bearing_torque]
        gone = [*map(names.inertia, heavy), *map(names.bearing_torque, drags)]
        yield from self._without("ideal", setting.rotors, gone)

    def _weighed(self, body: str) -> list[tuple[Symbol, Expression]]:
        """That the string just carries what hangs on it."""
        pull = self._tension_on(body)
        return [] if pull is None else [(pull, self.motion.gravity_on(body))]

    def _balanced(self, body: str) -> Iterator[Limit]:
        """The hanging mass with which nothing gets faster or slower."""
        names, sides = self.names, _sides(self.context)
        mass = names.mass(body).id
        if ZERO in sides:
            return
        first, second = _sides(self._public)
        none, one = (value_at(first, {mass: m}) - value_at(second, {mass: m}) for m in (0.0, 1.0))
        balance = -none / (one - none)
        if balance > 0.0:
            claims = [(names.acceleration, ZERO), *self._weighed(body)]
            yield self._limit("balance", [body], {mass: balance}, claims, made=arrow(*sides))

    def _light(self, body: str) -> Limit:
        """A very light hanging mass: static friction holds all, the others win, or a formula."""
        mass, others = self.names.mass(body), [name for name in self.setting.movers if name != body]
        changes, gone = {mass.id: self.setting.mass(body) / EXTREME}, arrow(mass, 0)
        known = self._public.motion
        smooth = {self.names.coefficient(name).id: 0.0 for name in self.motion.kinetic_frictions}
        drive = value_at(total(known.shares()), {mass.id: 0.0, **smooth})
        drive *= float(self.setting.apparatus.gravity)
        grip = 0.0 if self.setting.starts_moving else self._grip
        if grip and abs(drive) <= grip:
            return self._limit("light", [body], changes, made=gone, outcome="rests")
        if grip and drive < 0.0:
            return self._limit("light", [body], changes, made=gone, outcome="goes-back")
        zeros: dict[str, Expression] = {mass.id: ZERO}
        if len(others) == 1 and not self.setting.rotors and not self.setting.wheel_mass(others[0]):
            zeros[self.names.mass(others[0]).id] = Number(value=1)  # alone, its mass cancels
        full = _sign_first(rebuilt(self.motion.acceleration_in_full, zeros))
        claims = [(self.names.acceleration, full), *(self._weighed(body) if full == ZERO else [])]
        return self._limit("light", [body], changes, claims, made=gone)

    def others_than(self, limit: Limit) -> list[str]:
        """What moves besides what a case is about."""
        return [name for name in self.setting.movers if name not in limit.of]

    @property
    def _grip(self) -> float:
        """The most that static friction and bearings can hold, N."""
        setting, motion = self.setting, self._public.motion
        frictions = (
            float(setting.ratio(name)) * value_at(motion.largest_friction(name), {})
            for name in setting.sliders
        )
        return sum(frictions) + sum(value_at(-drag, {}) for drag in motion.drags())

    @property
    def start_condition(self) -> Relation:
        """The condition under which a run starts from rest."""
        names, (drives, holds) = self.names, _sides(self.context)
        static: dict[str, Expression] = {
            names.coefficient(name).id: as_expression(names.static_coefficient(name))
            for name in self.motion.kinetic_frictions
        }
        return Relation(sides=(drives, rebuilt(holds, static)), signs=(">",))

    def _heavy(self, body: str) -> Limit:
        """A very heavy hanging mass: it falls freely, and the others go with it."""
        others = [name for name in self.setting.movers if name != body]
        changes = {self.names.mass(body).id: EXTREME * sum(map(self.setting.mass, others))}
        sense = self.setting.senses[body]
        common = scaled(1 / self.setting.ratio(body), self.names.gravity)
        claims: list[tuple[Symbol, Expression]] = [(self.names.acceleration, signed(sense, common))]
        farthest = max(others, key=self.setting.ratio)
        if self.setting.ratio(farthest) != self.setting.ratio(body):
            far = signed(sense, scaled(self.setting.ratio(farthest), common))
            claims.append((self.names.acceleration_of(farthest), far))
        if len(others) == 1 and (sense > 0 or self.setting.starts_moving):
            claims += self._pulled(others[0], sense)
        return self._limit("heavy", [body], changes, claims)

    def _pulled(self, name: str, sense: int) -> Iterator[tuple[Symbol, Expression]]:
        """The tension that gives an object the acceleration g, in the lesson's sense or against."""
        pull, motion = self._tension_on(name), self.motion
        if pull is None:
            return
        sign, needed = motion.inner(name)[0].sign, motion.gravity_on(name)  # its mass times g
        outer = []
        for term in motion.outer(name):
            rubs = term.size == motion.frictions.get(name)
            size = motion.friction_in_full(name) if rubs else term.size
            outer.append(signed(-sign * term.sign, size))
        if outer == [needed]:
            yield pull, product(2, self.names.mass(name), self.names.gravity)
        else:
            yield pull, total([signed(sign * sense, needed), *outer])

    def _sloping(self) -> Iterator[Limit]:
        """A slope made level and made upright: the known formulas come back."""
        formula, names = self.motion.acceleration_in_full, self.names
        for surface in self.setting.apparatus.surfaces:
            riders = [n for n in self.setting.sliders if names.surface(n) == surface]
            if not any(map(self.motion.sine, riders)):
                continue
            theta = names.slope(surface)
            if self.context.driver is not None:
                level = [(names.acceleration, _with_slope(formula, theta, sine=0, cosine=1))]
                yield self._limit("level", [surface], {theta.id: 0.0}, level)
            steep = [(names.acceleration, _with_slope(formula, theta, sine=1, cosine=0))]
            yield self._limit("upright", [surface], {theta.id: 90.0}, steep)
            return

    def _one_less(self) -> Iterator[Limit]:
        """A train without its last cart: the formula of the others."""
        rear = next((n for n in self.setting.sliders if len(self.setting.strings_at(n)) == 1), None)
        if rear is None or len(self.setting.sliders) < 2 or self.setting.wheel_mass(rear):
            return
        if self.setting.ratio(rear) == 1:
            yield from self._without("less", [rear], [self.names.mass(rear)])

    # ---- At rest: a block on a slope, held by a weight and by static friction.

    @property
    def tangent(self) -> Expression:
        """tan θ of the first object's slope."""
        theta = self.names.slope(self.context.surface)
        return Function(name="tan", argument=as_expression(theta))

    def _at_rest(self) -> Iterator[Limit]:
        if not self.context.is_plain or self.context.climb <= 0:
            return
        slider, names, motion = self.context.slider, self.context.names, self.context.motion
        sine = motion.sine(slider)
        if sine is None or slider not in motion.frictions:
            return
        friction, mass = names.friction(slider), names.mass(self.context.weight)
        rubbing = next(t for t in motion.terms(slider) if t.size in motion.frictions.values())
        up = (self.setting.along(rubbing.force) or 0.0) * self.setting.slope(slider)
        alone = product(names.mass(slider), names.gravity, sine)
        grip = self._public.names.static_coefficient(slider).value
        assert grip is not None
        stays = math.tan(abs(self.setting.slope(slider))) <= grip
        claims = [(friction, signed(1 if up > 0 else -1, alone))]  # +1: it points up the slope
        outcome, gone = "stays" if stays else "slides", arrow(mass, 0)
        yield self._limit("unloaded", [slider], {mass.id: 0.0}, claims, made=gone, outcome=outcome)
        balance = self.setting.mass(slider) * math.sin(abs(self.setting.slope(slider)))
        held = [(friction, ZERO), (names.tension(self.context.string, self.context.weight), alone)]
        share = arrow(mass, product(names.mass(slider), sine))
        yield self._limit("unneeded", [slider], {mass.id: balance}, held, made=share)

    # ---- Several free motions: a pair on a pulley that hangs from a string, else one weight heavy.

    def _free(self) -> Iterator[Limit]:
        names, setting, driver = self.names, self.setting, self.context.driver
        pair = self._pair_on_a_string()
        if pair is not None:
            yield from self._of_pair(*pair)
        elif driver is not None and not setting.rotors:
            others = sum(setting.mass(n) for n in setting.movers if n != driver)
            claims = [(names.acceleration_of(driver), as_expression(names.gravity))]
            limit = self._limit(
                "heavy", [driver], {names.mass(driver).id: EXTREME * others}, claims
            )
            if limit.claims:
                yield limit

    def _pair_on_a_string(self) -> tuple[str, str, str] | None:
        """What pulls the pulley up, and the two weights that hang from it; None for others."""
        setting = self.setting
        counts = len(setting.hanging), len(setting.movers), len(setting.taut), len(setting.lifts)
        if counts != (3, 4, 2, 1) or setting.rotors or setting.carried:
            return None
        (lift,), paths = setting.lifts, [s.path for s in setting.apparatus.strings.values()]
        lower = next((p for p in paths if p[1:-1] == (lift,)), ())
        upper = next((p for p in paths if lift in (p[0], p[-1]) and len(p) == 3), ())
        if setting.mass(lift) or not lower or not upper:
            return None
        return (upper[0] if upper[-1] == lift else upper[-1]), lower[0], lower[-1]

    def _of_pair(self, counter: str, first: str, second: str) -> Iterator[Limit]:
        g = as_expression(self.names.gravity)
        mass, one, two = (self.names.mass(name) for name in (counter, first, second))
        a = {name: self.names.acceleration_of(name) for name in (counter, first, second)}
        upper, lower = (self._tension_on(name) for name in (counter, first))
        assert upper is not None
        assert lower is not None
        full = product(4, one, two) / total([one, two])
        load = self.names.pair_mass((first, second), self.context.value(full))

        def down(name: str, tree: Expression) -> Expression:
            return signed(self.setting.senses[name], tree)

        drive = product(total([mass, -load]), g) / total([mass, load])
        effective = self._limit("effective", [], {}, [(a[counter], down(counter, drive))])
        yield replace(effective, load=(load, full))
        halves = dict.fromkeys((one.id, two.id), self.setting.mass(counter) / 2)
        still = [*((symbol, ZERO) for symbol in a.values()), (upper, product(mass, g))]
        yield self._limit("even", [counter], halves, [*still, (lower, product(one, g))])
        others = EXTREME * (self.setting.mass(first) + self.setting.mass(second))
        falls = [(a[counter], down(counter, g)), (lower, product(load, g))]
        yield self._limit("heavy", [counter], {mass.id: others}, falls)
        free = [(lower, ZERO), (a[counter], down(counter, g)), (a[second], down(second, g))]
        rest = {one.id: self.setting.mass(first) / EXTREME}
        yield self._limit("light", [first], rest, free, made=arrow(one, 0))


def _sides(context: Context) -> tuple[Expression, Expression]:
    """What drives and what holds back, as masses: the net driving force over g, in two parts."""
    motion, g = context.motion, context.names.gravity
    terms = [*motion.shares(), *(_over(drag, g) for drag in motion.drags())]
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


def _sign_first(tree: Expression) -> Expression:
    """A product of a negative factor with the sign in front."""
    if isinstance(tree, Product) and isinstance(tree.factors[0], Negative):
        return -product(tree.factors[0].body, *tree.factors[1:])
    return tree


def _with_slope(tree: Expression, theta: Symbol, *, sine: int, cosine: int) -> Expression:
    values: dict[Expression, Expression] = {
        Function(name="sin", argument=as_expression(theta)): Number(value=sine),
        Function(name="cos", argument=as_expression(theta)): Number(value=cosine),
    }
    return rebuilt(tree, {}, values)
