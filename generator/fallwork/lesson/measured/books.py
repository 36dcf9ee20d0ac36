"""The measured account of one system and its symbols.

Takes the set-up, the trials and the comparison of a system; gives the symbol of each part, of the
difference, its uncertainty and its limit. What is said about them stands in ``systems``.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from fallwork.lesson.expression import Symbol
from fallwork.lesson.measured.context import Measuring
from fallwork.lesson.measured.names import FACTOR_FIGURES
from fallwork.lesson.measured.words import FIGURES_OF_U, ends_at, figures_for, last_place, title
from fallwork.lesson.words import lower_first
from fallwork.measurement.comparison import SystemComparison
from fallwork.measurement.energies import Part
from fallwork.scenario.model import SystemChoice

ENERGIES = {"kinetic": "K", "rotational": "K", "potential": "U", "thermal": "Q"}  # letters
MARKS = {"rotational": "rot"}
WHOLE = "all"  # mark of the system with all movers where a letter alone would mean something else
SAME = 1e-9  # relative; two ways to one number


@dataclass(frozen=True)
class Books:
    """The measured account of one system, with its symbols."""

    measuring: Measuring
    choice: SystemChoice
    found: SystemComparison

    @cached_property
    def mark(self) -> str:
        """What tells this system's symbols from those of the others: the movers in it, nothing
        where all are.
        """
        setting = self.measuring.context.setting
        systems = setting.scenario.systems
        own = self._movers(self.choice)
        if [self._movers(other) for other in systems].count(own) > 1 or not own:
            return f"sys{systems.index(self.choice) + 1}"
        if own == setting.movers:
            return ""
        return ",".join(self.measuring.context.names.subscript(name) for name in own)

    def _movers(self, choice: SystemChoice) -> tuple[str, ...]:
        movers = self.measuring.context.setting.movers
        return tuple(name for name in movers if name in choice.members)

    @property
    def last(self) -> float:
        """What the last figures of this account go by, J."""
        return ends_at(self.found.overall.difference)

    def part(self, part: Part) -> Symbol:
        """A work or a change of energy, as the mean over the trials."""
        words = self.words_for(part)
        if part.name in ENERGIES:
            letter, subscript = f"Delta {ENERGIES[part.name]}", MARKS.get(part.name, "")
            subscript = ",".join(each for each in (subscript, self.mark, "meas") if each)
        else:
            own = self._force_mark(part)
            mark = self.mark or WHOLE
            alike = self.is_shared(part) or own.endswith(f",{mark}")
            letter, subscript = "W", f"{own if alike else f'{own},{mark}'},meas"
        return self._symbol(
            part.name,
            letter,
            subscript,
            title("meanings.work-part", part=words),
            part.value,
            figures_for(part.value, self._last_of(part), self.measuring.figures),
            owner="force" if self.is_shared(part) else self.choice.id,
        )

    @cached_property
    def others(self) -> tuple[SystemComparison, ...]:
        """The measured accounts of the other systems."""
        judgement = self.measuring.trials.judgement
        assert judgement is not None  # there is one where there is an account
        return tuple(each for each in judgement.comparison.systems if each.id != self.choice.id)

    def is_shared(self, part: Part) -> bool:
        """Whether a work has one value in all accounts that hold it, and so one symbol."""
        if part.name in ENERGIES:
            return False
        values = [each.value for each in self._same(part, (self.found, *self.others))]
        return all(math.isclose(value, values[0], rel_tol=SAME) for value in values)

    def told_before(self, part: Part) -> bool:
        """Whether the account of an earlier system has worked it out already."""
        if not self.is_shared(part):
            return False
        ids = [choice.id for choice in self.measuring.context.setting.scenario.systems]
        earlier = ids[: ids.index(self.choice.id)]
        return bool(self._same(part, [each for each in self.others if each.id in earlier]))

    def _same(self, part: Part, accounts: Sequence[SystemComparison]) -> list[Part]:
        """The work of the same force as a mean over the trials, in each account that holds it."""
        works = (work for each in accounts for work in each.account.works)
        return [work for work in works if work.name == part.name]

    def _last_of(self, part: Part) -> float:
        """What its last digit goes by: the best known difference that it enters."""
        sharing = [each for each in self.others if self._same(part, [each])]
        shared = sharing if self.is_shared(part) else []
        return min([self.last, *(ends_at(each.overall.difference) for each in shared)])

    def _force_mark(self, part: Part) -> str:
        """The subscript that the lesson gives to the work of this force."""
        names = self.measuring.context.names
        for force in self.measuring.context.setting.phase.forces:
            if force.name == part.name:
                return names.work(force).subscript
        return part.name.split(" ")[0]

    def words_for(self, part: Part) -> str:
        """A part in words."""
        if part.name in ENERGIES:
            return title("system.change-of", energy=title(f"system.rows.{part.name}"))
        for force in self.measuring.context.setting.phase.forces:
            if force.name == part.name:
                return f"work of {self.measuring.context.names.phrase(force)}"
        return part.name

    def in_trial(self, part: Part) -> Symbol:
        """The same in the trial that is worked through."""
        mean = self.part(part)
        return replace(
            mean,
            id=f"{mean.id}.trial",
            subscript=mean.subscript.replace("meas", "trial"),
            meaning=title("meanings.work-part-trial", part=self.words_for(part)),
            value=part.value,
            figures=figures_for(part.value, self._last_of(part), self.measuring.figures),
        )

    @property
    def difference(self) -> Symbol:
        """Work less change of energy."""
        value = self.found.overall.difference.value
        figures = figures_for(value, self.last, self.measuring.figures)
        place = last_place(self.found.overall.difference)
        return replace(self._about("balance", "D", value, figures), place=place)

    @property
    def u_of_difference(self) -> Symbol:
        """Its standard uncertainty."""
        return self._about("u-balance", "u", self.found.overall.difference.u, FIGURES_OF_U)

    @property
    def factor(self) -> Symbol:
        """Its coverage factor."""
        return self._about(
            "factor-balance", "k", self.found.overall.coverage_factor, FACTOR_FIGURES, unit=""
        )

    @property
    def limit(self) -> Symbol:
        """The largest difference that still agrees."""
        return self._about("limit-balance", "L", self.found.overall.limit, FIGURES_OF_U)

    @property
    def percent(self) -> Symbol:
        """The difference in percent of the largest part."""
        return self._about(
            "percent-balance", "p", self.found.overall.percent, FIGURES_OF_U, unit="%"
        )

    def _about(
        self, kind: str, letter: str, value: float | None, figures: int, *, unit: str = "J"
    ) -> Symbol:
        of_difference = () if kind == "balance" else ("D",)
        subscript = ",".join((*of_difference, self.mark or WHOLE))
        meaning = title(f"meanings.{kind}", title=lower_first(self.choice.title))
        return self._symbol(kind, letter, subscript, meaning, value, figures, unit)

    def _symbol(
        self,
        key: str,
        letter: str,
        subscript: str,
        meaning: str,
        value: float | None,
        figures: int,
        unit: str = "J",
        owner: str = "",
    ) -> Symbol:
        return Symbol(
            id=f"measured.{owner or self.choice.id}.{key}",
            letter=letter,
            subscript=subscript,
            meaning=meaning,
            unit=unit,
            value=value,
            figures=figures,
        )
