"""What the steps about the difference ask: where energy went, what can't be, what is told apart."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from fallwork.lesson.expression import Symbol
from fallwork.lesson.lab.measured.together import Together
from fallwork.lesson.measured.evidence import Judgement
from fallwork.lesson.measured.words import breakable, ends_at, figures_for, source_words, title
from fallwork.lesson.words import listing
from fallwork.measurement.comparison import Verdict, verdict_on
from fallwork.measurement.discrepancy import CHECKS, Alone, Balance, Check, Discrepancy, Impossible
from fallwork.measurement.model import Measurand, Outcome
from fallwork.measurement.sensors import SCALES
from fallwork.measurement.separation import Separation, Unknown
from fallwork.measurement.statistics import limit_of
from fallwork.scenario import Slider
from fallwork.scenario.quantity import as_written

SHOWN_IN: Mapping[str, tuple[float, str]] = {  # factor from SI, unit
    "friction": (1.0, ""),
    "friction_at_most": (1.0, ""),
    "hidden_mass": (1000.0, "g"),
    "pulley_mass": (1000.0, "g"),
    "pulley_force": (1.0, "N"),
    "force_zero": (1.0, "N"),
}
RESISTS = ("hidden_mass", "pulley_mass", "pulley_force")  # what can't be less than none
NEGATIVE: Mapping[str, Impossible] = {  # what it means if a loss is negative
    "pulled": Impossible.TENSION_TOO_SMALL,
    "all": Impossible.ENERGY_GAINED,
    "rest": Impossible.TENSION_TOO_LARGE,
}
ZERO_OFF = 0.001  # N, an error of the force sensor's zero to show what it does
EITHER_SIGN = (Unknown.FORCE_ZERO,)


class Gap(Together):
    """What the difference between measured and predicted says."""

    @property
    def judgement(self) -> Judgement:
        """The trials against the model; only on pages that may show it."""
        judgement = None if self.evidence is None else self.evidence.judgement
        assert judgement is not None  # as the docstring says
        return judgement

    @property
    def discrepancy(self) -> Discrepancy:
        """The account of the difference."""
        return self.judgement.discrepancy

    @property
    def balance(self) -> Balance | None:
        """Energy that is missing; None where the trials lack what it needs."""
        return self.discrepancy.balance

    def missing(self, place: str, outcome: Outcome | None = None) -> Symbol:
        """Energy that is missing at the ``pulled`` object, in ``all``, or in the ``rest``."""
        mark = self.subscript(self.watched) if place == "pulled" else place
        value = None if outcome is None else outcome.value
        last, figures = 0.0 if outcome is None else ends_at(outcome), self.figures
        return Symbol(
            id=f"measured.missing.{place}",
            letter="E",
            subscript=f"{mark},miss",
            meaning=title(f"meanings.missing-{place}", the_moving=self.the(self.watched)),
            unit="J",
            value=value,
            figures=figures_for(value or 0.0, last, figures),
        )

    def to_look_at(self, checks: Sequence[Check]) -> str:
        """What to look at, in words."""
        the = self.the(self.watched)
        return listing([title(f"checks.{each.value}", the_moving=the) for each in checks])

    def to_check(self, place: str) -> str:
        """The same for a loss that is negative there."""
        return self.to_look_at(CHECKS[NEGATIVE[place]])

    def in_cell(self, outcome: Outcome, unit: str) -> str:
        """A value with its uncertainty for a narrow cell: a line may end before the ±."""
        return breakable(self.with_u(outcome, unit))

    @staticmethod
    def sign(outcome: Outcome) -> str:
        """``more`` or ``less`` than zero, ``none`` or ``open``, by the one rule for a verdict."""
        verdict = verdict_on(outcome)
        if verdict is Verdict.DIFFER:
            return "more" if outcome.value > 0 else "less"
        return "none" if verdict is Verdict.AGREE else "open"

    # ---- where energy went

    @property
    def _beside(self) -> Mapping[str, Outcome]:
        """What is missing beside the model's friction, by place, as far as it is known."""
        found = self.balance
        assert found is not None  # asked for where there is one
        places = {"pulled": found.pulled_beside, "elsewhere": found.elsewhere_beside}
        known = {place: each for place, each in places.items() if each is not None}
        return {**known, "everything": found.everything_beside}

    @property
    def places(self) -> Iterator[tuple[str, Outcome, Outcome]]:
        """Where energy may be missing: how much if nothing resisted, and beside friction.

        What is a sum of others ends where they do.
        """
        names = [name for name in ("pulled", "everything", "elsewhere") if name in self._beside]
        pairs = [(getattr(self.balance, name), self._beside[name]) for name in names]
        steps = [each.step for pair in pairs for each in pair if each.u is None]
        for name, pair in zip(names, pairs, strict=True):
            bare, beside = (replace(each, step=min(steps, default=0.0)) for each in pair)
            yield name, bare, beside

    def shift_of_zero(self, unit: str) -> str:
        """What an error of the force sensor's zero does; empty where it can't be told."""
        distance = self.analysis.summary.get(Measurand.DISTANCE)
        if distance is None or "pulled" not in self._beside:
            return ""
        return self.u(ZERO_OFF * distance.mean, unit)

    @property
    def verdicts(self) -> Sequence[tuple[str, str, str]]:
        """Each place where it can be judged, and the whole where the places don't tell: whether
        energy is missing there, and how much.
        """
        beside = dict(self._beside)
        whole = beside.pop("everything")
        known = {place: each for place, each in beside.items() if each.u is not None}
        nowhere = all(self.sign(each) == "none" for each in known.values())
        if whole.u is not None and (not known or (nowhere and self.sign(whole) != "none")):
            known["everything"] = whole
        return [
            (place, self.sign(each), self.with_u(replace(each, value=abs(each.value)), "J"))
            for place, each in known.items()
        ]

    @property
    def counted(self) -> Sequence[str]:
        """What the uncertainties of what is missing come from."""
        assert self.balance is not None  # asked for where there is one
        return [source_words(name, self.scenario.nouns) for name in self.balance.counted]

    @property
    def scales_counted(self) -> bool:
        """Whether the scale of a sensor is among it."""
        assert self.balance is not None  # asked for where there is one
        return any(name in self.balance.counted for name in SCALES)

    @property
    def some_open(self) -> bool:
        """Whether it can't be judged somewhere."""
        return any(each.u is None for each in self._beside.values())

    @property
    def some_judged(self) -> bool:
        """Whether it can be judged anywhere."""
        return any(each.u is not None for each in self._beside.values())

    @property
    def alone(self) -> Mapping[str, Outcome]:
        """What one cause alone would be; without a measured pull the most that friction can be."""
        found = self.discrepancy.alone or Alone(**dict.fromkeys(Alone.__dataclass_fields__))
        values = {key: getattr(found, key, None) for key in SHOWN_IN}
        if values["friction"] is None:
            values["friction_at_most"] = self.discrepancy.estimates.friction_at_most
        return {key: value for key, value in values.items() if value is not None}

    def alone_cell(self, key: str) -> str:
        """One of these in the unit in which a lab thinks of it."""
        (factor, unit), value = SHOWN_IN[key], self.alone[key]
        u = None if value.u is None else factor * value.u
        shown = Outcome(value=factor * value.value, u=u, step=factor * value.step)
        return self.in_cell(shown, unit)

    @property
    def alone_negative(self) -> str:
        """Whether one of them is less than none: by more than its limit (``less``), by an
        ``open`` amount, or not by much (``none``); empty where it isn't.
        """
        if not any(self.alone[key].value < 0 for key in RESISTS if key in self.alone):
            return ""
        places = [each for place, each in self._beside.items() if place != "everything"]
        signs = [self.sign(each) for each in places]
        return "less" if "less" in signs else "open" if "open" in signs else "none"

    @property
    def given_friction(self) -> str:
        """The coefficient at the watched object, as its author wrote it."""
        scenario = self.scenario
        body = scenario.objects[self.watched]
        assert isinstance(body, Slider)  # only what slides has one
        friction = body.friction or scenario.surfaces[body.runs_on].friction
        return as_written(friction).replace(" ", "\u00a0")

    @staticmethod
    def limit_of(outcome: Outcome) -> float | None:
        """How far from zero it may be by chance."""
        return limit_of(outcome)

    # ---- what can be told apart

    @property
    def fitted(self) -> Mapping[str, Separation]:
        """The fits to show: of everything, and without extra inertia where that is allowed."""
        found = self.discrepancy
        assert found.separation is not None  # asked for where there is one
        plain = found.plain if Unknown.INERTIA in found.separation.settled else None
        return {"value": found.separation} | ({} if plain is None else {"plain": plain})

    @property
    def needs_inertia(self) -> bool:
        """Whether the measurements would contradict one another without extra inertia."""
        found = self.fitted["value"]
        return Unknown.INERTIA in found.settled and "plain" not in self.fitted and found.consistent

    @property
    def signs(self) -> Iterator[tuple[str, str, Sequence[Unknown]]]:
        """What differs from zero (``real``), what is negative by chance or beyond (``negative``,
        ``negative-real``): in which column, and which; columns that say the same together.
        """
        real, negative = (
            {
                column: [each for each, value in fit.settled.items() if holds(each, value)]
                for column, fit in self.fitted.items()
            }
            for holds in (self._differs, self._is_negative)
        )
        chance, sure = (
            {
                column: [each for each in negative[column] if (each in real[column]) is beyond]
                for column in negative
            }
            for beyond in (False, True)
        )
        for key, lists in {"real": real, "negative": chance, "negative-real": sure}.items():
            same = all(each == lists["value"] for each in lists.values())
            shared = {"only" if len(lists) == 1 else "both": lists["value"]}
            for column, unknowns in (shared if same else lists).items():
                if unknowns or key == "real":
                    yield key, column, unknowns

    def _differs(self, unknown: Unknown, value: Outcome) -> bool:
        return self.sign(value) != "none"

    @staticmethod
    def _is_negative(unknown: Unknown, value: Outcome) -> bool:
        return value.value < 0 and unknown not in EITHER_SIGN
