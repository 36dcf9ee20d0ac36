"""What the steps about work and energy, measured, ask: a system's account and its symbols."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from fallwork.lesson.expression import Expression, Symbol, evaluate
from fallwork.lesson.measured import words as say
from fallwork.lesson.measured.quantities import as_its_share, rows, symbol
from fallwork.lesson.measured.trials import Trials
from fallwork.lesson.trees import half, product, total
from fallwork.lesson.words import lower_first
from fallwork.measurement.comparison import SystemComparison
from fallwork.measurement.energies import Part
from fallwork.measurement.model import Measurand, Outcome
from fallwork.measurement.statistics import guarded
from fallwork.mechanics.solution import Force, Interaction
from fallwork.scenario import SystemChoice

ENERGIES = {"kinetic": "K", "rotational": "K", "potential": "U", "thermal": "Q"}  # letters
MARKS = {"rotational": "rot"}
WHOLE = "all"  # mark of the system with all movers where a letter alone would mean something else
SAME = 1e-9  # relative; two ways to one number


class Accounts(Trials):
    """The systems that the trials say something about."""

    def account(self, choice: SystemChoice) -> "Account | None":
        """The measured account of a featured system; None where the trials say nothing of it."""
        found = self.judgement.comparison.systems.get(choice.id)
        return None if found is None else Account(self, choice, found)

    def joules(self, value: float, difference: Outcome) -> str:
        """A part of a difference, with guard digits behind the last one of that."""
        return say.to_place_of(value, guarded(say.ends_at(difference)), "J", self.figures)


@dataclass(frozen=True)
class Account:
    """The measured account of one system, with its symbols."""

    lab: Accounts
    choice: SystemChoice
    found: SystemComparison

    # ---- its symbols

    @cached_property
    def mark(self) -> str:
        """What tells this system's symbols apart: its movers, nothing where all are in it."""
        systems, own = self.lab.scenario.systems, self._movers(self.choice)
        if [self._movers(other) for other in systems].count(own) > 1 or not own:
            return f"sys{systems.index(self.choice) + 1}"
        return "" if own == self.lab.movers else ",".join(self.lab.marks[name] for name in own)

    def _movers(self, choice: SystemChoice) -> tuple[str, ...]:
        return tuple(name for name in self.lab.movers if name in choice.members)

    def symbol(self, part: Part, which: str = "meas") -> Symbol:
        """A part's mean, or in the ``trial``; it ends where the best known difference does."""
        force, sharing = self._force(part), self._sharing(part)
        own = part.name if force is None else self.lab.work(force).subscript
        letter, marks = "W", [own, "" if sharing else self.mark or WHOLE]
        if part.name in ENERGIES:
            letter, marks = f"Delta {ENERGIES[part.name]}", [MARKS.get(part.name, ""), self.mark]
        elif own.endswith(f",{self.mark or WHOLE}"):
            marks = [own]
        ends = min(say.ends_at(each.overall) for each in (self.found, *sharing.values()))
        tail = "" if which == "meas" else f".{which}"
        return symbol(
            f"work-part{tail.replace('.', '-')}",
            f"{'force' if sharing else self.choice.id}.{part.name}{tail}",
            Outcome(value=part.value, u=ends),
            self.lab.figures,
            letter=letter,
            marks=(*marks, which),
            part=self.words(part),
        )

    def _sharing(self, part: Part) -> Mapping[str, SystemComparison]:
        """The accounts that hold a work, if it has one value in all of them and so one symbol."""
        if part.name in ENERGIES:
            return {}
        systems = self.lab.judgement.comparison.systems
        held = {
            n: w.value for n, e in systems.items() for w in e.account.works if w.name == part.name
        }
        first = next(iter(held.values()))
        alike = all(math.isclose(value, first, rel_tol=SAME) for value in held.values())
        return {name: systems[name] for name in held} if alike else {}

    def words(self, part: Part) -> str:
        """A part in words."""
        if part.name in ENERGIES:
            return say.title(f"changes.{part.name}")
        force = self._force(part)
        return f"work of {self.lab.phrase(force)}" if force else part.name

    def _force(self, part: Part) -> Force | None:
        return next((f for f in self.lab.phase.forces if f.name == part.name), None)

    def rubs(self, part: Part) -> bool:
        """Whether a part is the work of friction."""
        force = self._force(part)
        return force is not None and force.interaction is Interaction.FRICTION

    @property
    def difference(self) -> Symbol:
        """Works less changes of energy."""
        found = self.found.overall
        return replace(self._of_all("balance", found), place=say.last_place(found))

    @property
    def percent(self) -> Symbol:
        """The difference in percent of the largest part."""
        found = self._of_all("percent-balance", self.found.overall.percent)
        return as_its_share(found, self.difference)

    def _of_all(self, key: str, value: float | Outcome | None) -> Symbol:
        marks = (rows()[key].get("mark", ""), self.mark or WHOLE)
        id_, words = f"{self.choice.id}.{key}", lower_first(self.choice.title)
        return symbol(key, id_, value, self.lab.figures, marks=marks, title=words)

    # ---- its equations

    @property
    def sum(self) -> Expression:
        """Works less changes of energy."""
        works = [self.symbol(part) for part in self.found.account.works]
        changes = [-self.symbol(part) for part in self.found.account.changes]
        return total([*works, *changes])

    @property
    def largest(self) -> Part | None:
        """The part that the percent difference is taken of."""
        overall = self.found.overall
        parts = self.found.account.parts if overall.percent is not None else ()
        return next((part for part in parts if part.name == overall.percent_of), None)

    # ---- one trial in full

    @property
    def in_full(self) -> Sequence[tuple[Symbol, Expression]]:
        """For the usual set-up: how the parts come about in the trial that is worked through."""
        lab, trial = self.lab, self.lab.trial
        needed = {Measurand.FINAL_SPEED, Measurand.DISTANCE}
        if trial is None or trial.name not in self.found.trials or not lab.conditions["usual"]:
            return []
        systems = [choice.id for choice in lab.scenario.systems]
        earlier = {*systems[: systems.index(self.choice.id)]}
        parts = self.found.accounts[trial.name].parts if needed <= trial.estimates.keys() else ()
        new = (part for part in parts if not earlier & self._sharing(part).keys())
        trees = [(part, self._formula(part)) for part in new]
        return [
            (self.symbol(part, "trial"), tree)
            for part, tree in trees
            if tree is not None and math.isclose(evaluate(tree), part.value, rel_tol=SAME)
        ]

    def _formula(self, part: Part) -> Expression | None:
        """A part of one trial from its formula; None where it is a measured value itself."""
        lab, letters = self.lab, self.lab.letters
        distance = letters["d1"]
        if part.name == "kinetic":
            return half(total(lab.mass(n) for n in self._movers(self.choice)), letters["v1"] ** 2)
        if part.name == "potential":
            return -product(lab.mass(lab.weight), lab.gravity, distance)
        return -product(lab.frictions[lab.slider], distance) if self.rubs(part) else None
