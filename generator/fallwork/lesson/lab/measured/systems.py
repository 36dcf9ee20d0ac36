"""What the steps about work and energy, measured, ask: a system's account and its symbols."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from fallwork.lesson.expression import Expression, Symbol, evaluate
from fallwork.lesson.lab.measured.comparing import Comparing
from fallwork.lesson.lab.measured.quantities import FACTOR_FIGURES
from fallwork.lesson.lab.measured.record import Record
from fallwork.lesson.measured.words import (
    FIGURES_OF_U,
    as_its_share,
    ends_at,
    figures_for,
    last_place,
    quantity_words,
    size,
    title,
    to_place_of,
    unbroken,
)
from fallwork.lesson.trees import half, product, total
from fallwork.lesson.words import lower_first
from fallwork.measurement.comparison import MissingSystem, SystemComparison
from fallwork.measurement.energies import Origin, Part
from fallwork.measurement.model import Measurand
from fallwork.measurement.statistics import guarded
from fallwork.mechanics.solution import Force, Interaction
from fallwork.scenario import SystemChoice

ENERGIES = {"kinetic": "K", "rotational": "K", "potential": "U", "thermal": "Q"}  # letters
MARKS = {"rotational": "rot"}
WHOLE = "all"  # mark of the system with all movers where a letter alone would mean something else
SAME = 1e-9  # relative; two ways to one number
MOVING = ("kinetic", "rotational")  # energies that go with the speed


class Systems(Record, Comparing):
    """The systems that the trials say something about."""

    @property
    def accounts(self) -> Iterator["Account | Lacking"]:
        """Each featured system with its measured account, or with what the trials lack for it."""
        comparison = self.judgement.comparison
        found = {each.id: each for each in comparison.systems}
        missing = {each.id: each for each in comparison.missing}
        for choice in self.scenario.systems:
            if choice.id in found:
                yield Account(self, choice, found[choice.id])
            elif choice.id in missing:
                yield Lacking(choice, missing[choice.id])


@dataclass(frozen=True)
class Lacking:
    """A system that the trials say nothing about."""

    choice: SystemChoice
    missing: MissingSystem
    found: None = None

    @property
    def lacks(self) -> Sequence[str]:
        """What wasn't measured."""
        return [quantity_words(quantity) for quantity in self.missing.lacks]


@dataclass(frozen=True)
class Account:
    """The measured account of one system, with its symbols."""

    lab: Systems
    choice: SystemChoice
    found: SystemComparison

    @property
    def parts(self) -> Sequence[Part]:
        """Works and changes of energy."""
        return (*self.found.account.works, *self.found.account.changes)

    # ---- its symbols

    @cached_property
    def mark(self) -> str:
        """What tells this system's symbols from those of the others: the movers in it, nothing
        where all are.
        """
        systems, own = self.lab.scenario.systems, self._movers(self.choice)
        if [self._movers(other) for other in systems].count(own) > 1 or not own:
            return f"sys{systems.index(self.choice) + 1}"
        if own == self.lab.movers:
            return ""
        return ",".join(self.lab.subscript(name) for name in own)

    def _movers(self, choice: SystemChoice) -> tuple[str, ...]:
        return tuple(name for name in self.lab.movers if name in choice.members)

    @property
    def _last(self) -> float:
        """What the last figures of this account go by, J."""
        return ends_at(self.found.overall.difference)

    def symbol(self, part: Part) -> Symbol:
        """A work or a change of energy, as the mean over the trials."""
        if part.name in ENERGIES:
            letter, marks = f"Delta {ENERGIES[part.name]}", (MARKS.get(part.name, ""), self.mark)
            subscript = ",".join(each for each in (*marks, "meas") if each)
        else:
            own, mark = self._force_mark(part), self.mark or WHOLE
            alike = self._is_shared(part) or own.endswith(f",{mark}")
            letter, subscript = "W", f"{own if alike else f'{own},{mark}'},meas"
        return Symbol(
            id=f"measured.{'force' if self._is_shared(part) else self.choice.id}.{part.name}",
            letter=letter,
            subscript=subscript,
            meaning=title("meanings.work-part", part=self.words(part)),
            unit="J",
            value=part.value,
            figures=self._figures(part),
        )

    def _figures(self, part: Part) -> int:
        """Its last digit goes by the best known difference that it enters."""
        shared = self._same(part, self._others) if self._is_shared(part) else {}
        ends = [ends_at(each.overall.difference) for each in shared.values()]
        return figures_for(part.value, min([self._last, *ends]), self.lab.figures)

    def _in_trial(self, part: Part) -> Symbol:
        """The same in the trial that is worked through."""
        mean = self.symbol(part)
        return replace(
            mean,
            id=f"{mean.id}.trial",
            subscript=mean.subscript.replace("meas", "trial"),
            meaning=title("meanings.work-part-trial", part=self.words(part)),
        )

    @cached_property
    def _others(self) -> Sequence[SystemComparison]:
        systems = self.lab.judgement.comparison.systems
        return [each for each in systems if each.id != self.choice.id]

    def _same(
        self, part: Part, accounts: Sequence[SystemComparison]
    ) -> dict[str, SystemComparison]:
        """Each account that holds the work of the same force."""
        return {e.id: e for e in accounts if any(w.name == part.name for w in e.account.works)}

    def _is_shared(self, part: Part) -> bool:
        """Whether a work has one value in all accounts that hold it, and so one symbol."""
        if part.name in ENERGIES:
            return False
        works = [w for each in (self.found, *self._others) for w in each.account.works]
        values = [work.value for work in works if work.name == part.name]
        return all(math.isclose(value, values[0], rel_tol=SAME) for value in values)

    def _told_before(self, part: Part) -> bool:
        """Whether the account of an earlier system has worked it out already."""
        ids = [choice.id for choice in self.lab.scenario.systems]
        earlier = ids[: ids.index(self.choice.id)]
        return self._is_shared(part) and any(
            id_ in earlier for id_ in self._same(part, self._others)
        )

    def _force_mark(self, part: Part) -> str:
        """The subscript that the lesson gives to the work of this force."""
        force = self._force(part)
        return self.lab.work(force).subscript if force else part.name

    def words(self, part: Part) -> str:
        """A part in words."""
        if part.name in ENERGIES:
            return title(f"changes.{part.name}")
        force = self._force(part)
        return f"work of {self.lab.phrase(force)}" if force else part.name

    def _force(self, part: Part) -> Force | None:
        """The force whose work a part is."""
        forces = self.lab.phase.forces
        return next((force for force in forces if force.name == part.name), None)

    def _rubs(self, part: Part) -> bool:
        """Whether a part is the work of friction."""
        force = self._force(part)
        return force is not None and force.interaction is Interaction.FRICTION

    @property
    def difference(self) -> Symbol:
        """Work less change of energy."""
        found = self.found.overall.difference
        figures = figures_for(found.value, self._last, self.lab.figures)
        symbol = self._about("balance", "D", found.value, figures)
        return replace(symbol, place=last_place(found))

    @property
    def u(self) -> Symbol:
        """Its standard uncertainty."""
        return self._about("u-balance", "u", self.found.overall.difference.u)

    @property
    def k(self) -> Symbol:
        """Its coverage factor."""
        value = self.found.overall.coverage_factor
        return self._about("factor-balance", "k", value, FACTOR_FIGURES, unit="")

    @property
    def limit(self) -> Symbol:
        """The largest difference that still agrees."""
        return self._about("limit-balance", "L", self.found.overall.limit)

    @property
    def percent(self) -> Symbol:
        """The difference in percent of the largest part."""
        value = self.found.overall.percent
        return as_its_share(self._about("percent-balance", "p", value, unit="%"), self.difference)

    def _about(
        self,
        kind: str,
        letter: str,
        value: float | None,
        figures: int = FIGURES_OF_U,
        *,
        unit: str = "J",
    ) -> Symbol:
        of_difference = () if kind == "balance" else ("D",)
        return Symbol(
            id=f"measured.{self.choice.id}.{kind}",
            letter=letter,
            subscript=",".join((*of_difference, self.mark or WHOLE)),
            meaning=title(f"meanings.{kind}", title=lower_first(self.choice.title)),
            unit=unit,
            value=value,
            figures=figures,
        )

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
        if overall.percent is None:
            return None
        return next((part for part in self.parts if part.name == overall.percent_of), None)

    @property
    def share(self) -> Expression:
        """The difference over the size of the largest part."""
        assert self.largest is not None  # asked for where there is one
        share = self.difference / self.symbol(self.largest)
        return -share if self.largest.value < 0 else share

    def cell(self, part: Part) -> str:
        """A part in the table."""
        return self._joules(part.value, guarded(self._last))

    def basis(self, part: Part) -> str:
        """What a part rests on, as a key."""
        measured = self.lab.analysis.summary
        if part.origin is Origin.FORCE_SENSOR:
            return "force sensor" if Measurand.WORK_OF_TENSION in measured else "mean tension"
        if part.origin is Origin.MODEL:
            rubbing = self._rubs(part) or part.name == "thermal"
            return "thermal" if rubbing else "model"
        if part.name in MOVING and Measurand.FINAL_SPEED not in measured:
            return f"{part.name} without speed"
        return part.name if part.name in ENERGIES else "work"

    @property
    def rows(self) -> Iterator[tuple[str, ...]]:
        """Each trial: work if there is any, change of energy, difference, limit if there is one."""
        for name, trial in self.found.trials.items():
            found, account = trial.comparison, trial.account
            last = ends_at(found.difference)
            sides = [account.work] if account.works else []
            cells = [self._joules(value, guarded(last)) for value in (*sides, account.change)]
            cells.append(self._joules(found.difference.value, last))
            if found.limit is not None:
                cells.append(f"±\u00a0{size(found.limit, 'J')}")
            yield unbroken(name), *cells

    def _joules(self, value: float, last: float) -> str:
        return to_place_of(value, last, "J", self.lab.figures)

    # ---- one trial in full

    @property
    def in_full(self) -> Sequence[tuple[Symbol, Expression]]:
        """For the usual set-up: how the parts come about in the trial that is worked through."""
        lab = self.lab
        plain = lab.is_plain and lab.speeds_up and not lab.slope_rad(lab.slider)
        if lab.trial is None or not plain or lab.trial.name not in self.found.trials:
            return []
        if not {Measurand.FINAL_SPEED, Measurand.DISTANCE} <= lab.trial.estimates.keys():
            return []
        account = self.found.trials[lab.trial.name].account
        found = []
        for part in (*account.works, *account.changes):
            tree = None if self._told_before(part) else self._formula(part)
            if tree is not None and math.isclose(evaluate(tree), part.value, rel_tol=SAME):
                found.append((self._in_trial(part), tree))
        return found

    def _formula(self, part: Part) -> Expression | None:
        """A part of one trial from its formula; None where it is a measured value itself."""
        lab, letters = self.lab, self.lab.letters
        distance = letters["d1"]
        if part.name == "kinetic":
            return half(total(lab.mass(n) for n in self._movers(self.choice)), letters["v1"] ** 2)
        if part.name == "potential":
            return -product(lab.mass(lab.weight), lab.gravity, distance)
        if self._rubs(part):
            return -product(lab.frictions[lab.slider], distance)
        return None
