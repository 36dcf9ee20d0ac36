"""What the steps about work and energy, measured, ask: a system's account and its symbols."""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from fallwork.lesson.expression import Expression, Symbol, evaluate
from fallwork.lesson.measured import words as say
from fallwork.lesson.measured.quantities import About, as_its_share, of_comparison, symbol
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
_SYMBOLS: Mapping[str, About] = {
    # the difference of work and change of energy; in percent of the largest part
    "difference": About("balance", "D", "", 0),
    "percent": About("percent-balance", "p", "D", unit="%"),
}


class Accounts(Trials):
    """The systems that the trials say something about."""

    @property
    def accounts(self) -> Iterator["Account | Lacking"]:
        """Each featured system with its measured account, or with what the trials lack for it."""
        comparison = self.judgement.comparison
        for choice in self.scenario.systems:
            if choice.id in comparison.systems:
                yield Account(self, choice, comparison.systems[choice.id])
            else:
                lacks = comparison.missing[choice.id]
                yield Lacking(choice, list(map(say.quantity_words, lacks)))

    def joules(self, value: float, difference: Outcome) -> str:
        """A part of a difference, with guard digits behind the last one of that."""
        return say.to_place_of(value, guarded(say.ends_at(difference)), "J", self.figures)


@dataclass(frozen=True)
class Lacking:
    """A system that the trials say nothing about."""

    choice: SystemChoice
    lacks: Sequence[str]  # what wasn't measured
    found: None = None


@dataclass(frozen=True)
class Account:
    """The measured account of one system, with its symbols."""

    lab: Accounts
    choice: SystemChoice
    found: SystemComparison

    @property
    def parts(self) -> Sequence[Part]:
        """Works and changes of energy."""
        return self.found.account.parts

    # ---- its symbols

    @cached_property
    def mark(self) -> str:
        """What tells this system's symbols from those of the others: the movers in it, nothing
        where all are.
        """
        systems, own = self.lab.scenario.systems, self._movers(self.choice)
        if [self._movers(other) for other in systems].count(own) > 1 or not own:
            return f"sys{systems.index(self.choice) + 1}"
        return "" if own == self.lab.movers else ",".join(map(self.lab.subscript, own))

    def _movers(self, choice: SystemChoice) -> tuple[str, ...]:
        return tuple(name for name in self.lab.movers if name in choice.members)

    def symbol(self, part: Part, which: str = "meas") -> Symbol:
        """A work or a change of energy: the mean over the trials, or in the ``trial`` that is
        worked through. Its last digit goes by the best known difference that it enters.
        """
        force, sharing = self._force(part), self._sharing(part)
        own = part.name if force is None else self.lab.work(force).subscript
        letter, marks = "W", [own, "" if sharing else self.mark or WHOLE]
        if part.name in ENERGIES:
            letter, marks = f"Delta {ENERGIES[part.name]}", [MARKS.get(part.name, ""), self.mark]
        elif own.endswith(f",{self.mark or WHOLE}"):
            marks = [own]
        ends = min(say.ends_at(each.overall.difference) for each in (self.found, *sharing.values()))
        tail = "" if which == "meas" else which
        return symbol(
            ".".join(filter(None, ("force" if sharing else self.choice.id, part.name, tail))),
            "-".join(filter(None, ("work-part", tail))),
            letter,
            (*marks, which),
            "J",
            Outcome(value=part.value, u=ends),
            self.lab.figures,
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
        """The force whose work a part is."""
        return next((f for f in self.lab.phase.forces if f.name == part.name), None)

    def rubs(self, part: Part) -> bool:
        """Whether a part is the work of friction."""
        force = self._force(part)
        return force is not None and force.interaction is Interaction.FRICTION

    def __getattr__(self, name: str) -> Symbol:
        """One of the symbols that tell something about the difference of work and energy."""
        if name not in _SYMBOLS:
            raise AttributeError(name)
        kind, letter, mark, figures, unit = _SYMBOLS[name]
        overall = self.found.overall
        found = symbol(
            f"{self.choice.id}.{kind}",
            kind,
            letter,
            (mark, self.mark or WHOLE),
            "J" if unit is None else unit,
            of_comparison(overall)[name],
            figures or self.lab.figures,
            title=lower_first(self.choice.title),
        )
        if name == "percent":
            return as_its_share(found, self.difference)
        place = say.last_place(overall.difference) if name == "difference" else 0.0
        return replace(found, place=place)

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
        named = (part for part in self.parts if part.name == overall.percent_of)
        return None if overall.percent is None else next(named, None)

    # ---- one trial in full

    @property
    def in_full(self) -> Sequence[tuple[Symbol, Expression]]:
        """For the usual set-up: how the parts come about in the trial that is worked through."""
        lab, trial = self.lab, self.lab.trial
        if trial is None or not lab.conditions["usual"] or trial.name not in self.found.trials:
            return []
        if not {Measurand.FINAL_SPEED, Measurand.DISTANCE} <= trial.estimates.keys():
            return []
        account = self.found.accounts[trial.name]
        earlier = [choice.id for choice in lab.scenario.systems]
        earlier = earlier[: earlier.index(self.choice.id)]
        found = []
        for part in account.parts:
            told = any(name in earlier for name in self._sharing(part))
            tree = None if told else self._formula(part)
            if tree is not None and math.isclose(evaluate(tree), part.value, rel_tol=SAME):
                found.append((self.symbol(part, "trial"), tree))
        return found

    def _formula(self, part: Part) -> Expression | None:
        """A part of one trial from its formula; None where it is a measured value itself."""
        lab, letters = self.lab, self.lab.letters
        distance = letters["d1"]
        if part.name == "kinetic":
            return half(total(lab.mass(n) for n in self._movers(self.choice)), letters["v1"] ** 2)
        if part.name == "potential":
            return -product(lab.mass(lab.weight), lab.gravity, distance)
        return -product(lab.frictions[lab.slider], distance) if self.rubs(part) else None
