"""What the steps about the difference ask: where energy went, what can't be, what is told apart,
and what each influence that the model leaves out would do.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from math import degrees

from fallwork.lesson.expression import Symbol
from fallwork.lesson.lab.measured.comparing import Comparing
from fallwork.lesson.lab.measured.quantities import symbol
from fallwork.lesson.measured.words import source_words, title
from fallwork.lesson.rounding import to_figures
from fallwork.lesson.words import listing
from fallwork.measurement.comparison import Verdict, verdict_on
from fallwork.measurement.discrepancy import CHECKS, Check, Discrepancy, Impossible
from fallwork.measurement.influences import Influence
from fallwork.measurement.model import Outcome
from fallwork.measurement.sensors import SCALES
from fallwork.measurement.separation import Separation, Unknown
from fallwork.measurement.statistics import limit_of
from fallwork.scenario import Slider
from fallwork.scenario.quantity import as_written

ALONE: Mapping[str, tuple[float, str]] = {  # one cause alone: factor from SI, unit
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
EITHER_SIGN = (Unknown.FORCE_ZERO,)
SHOWN: Mapping[str, tuple[float, str]] = {  # of an influence: factor from SI, unit
    "rad": (degrees(1.0), "°"),
    "kg": (1000.0, "\u00a0g"),
    "kg/m": (1000.0, "\u00a0g/m"),
    "": (1.0, ""),
}


class Gap(Comparing):
    """What the difference between measured and predicted says."""

    limit_of = staticmethod(limit_of)

    @property
    def discrepancy(self) -> Discrepancy:
        """The account of the difference."""
        return self.judgement.discrepancy

    @staticmethod
    def sign(outcome: Outcome) -> str:
        """``more`` or ``less`` than zero, ``none`` or ``open``, by the one rule for a verdict."""
        verdict = verdict_on(outcome)
        if verdict is Verdict.DIFFER:
            return "more" if outcome.value > 0 else "less"
        return "none" if verdict is Verdict.AGREE else "open"

    # ---- where energy went

    def missing(self, place: str, outcome: Outcome | None = None) -> Symbol:
        """Energy that is missing at the ``pulled`` object, in ``all``, or in the ``rest``."""
        where = self.subscript(self.watched) if place == "pulled" else place
        kind, the, figures = f"missing-{place}", self.the(self.watched), self.figures
        marks = (where, "miss")
        return symbol(f"missing.{place}", kind, "E", marks, "J", outcome, figures, the_moving=the)

    def to_look_at(self, checks: Sequence[Check]) -> str:
        """What to look at, in words."""
        the = self.the(self.watched)
        return listing([title(f"checks.{each.value}", the_moving=the) for each in checks])

    def to_check(self, place: str) -> str:
        """The same for a loss that is negative there."""
        return self.to_look_at(CHECKS[NEGATIVE[place]])

    @property
    def beside(self) -> Mapping[str, Outcome]:
        """What is missing beside the model's friction, by place, as far as it is known."""
        found = self.discrepancy.balance
        assert found is not None  # asked for where there is one
        places = {
            "pulled": found.pulled_beside,
            "everything": found.everything_beside,
            "elsewhere": found.elsewhere_beside,
        }
        return {place: each for place, each in places.items() if each is not None}

    @property
    def places(self) -> Iterator[tuple[str, Outcome, Outcome]]:
        """Where energy may be missing: how much if nothing resisted, and beside friction.

        What is a sum of others ends where they do.
        """
        balance = self.discrepancy.balance
        rows = [(name, getattr(balance, name), each) for name, each in self.beside.items()]
        steps = [each.step for _, *pair in rows for each in pair if each.u is None]
        for name, *pair in rows:
            bare, beside = (replace(each, step=min(steps, default=0.0)) for each in pair)
            yield name, bare, beside

    @property
    def verdicts(self) -> Sequence[tuple[str, str, str]]:
        """Each place where it can be judged, and the whole where the places don't tell: whether
        energy is missing there, and how much.
        """
        known = {place: each for place, each in self.beside.items() if each.u is not None}
        whole = known.pop("everything", None)
        nowhere = all(self.sign(each) == "none" for each in known.values())
        if whole and (not known or (nowhere and self.sign(whole) != "none")):
            known["everything"] = whole
        return [
            (place, self.sign(each), self.with_u(replace(each, value=abs(each.value)), "J"))
            for place, each in known.items()
        ]

    @property
    def counted(self) -> Sequence[str]:
        """What the uncertainties of what is missing come from."""
        found = self.discrepancy.balance
        assert found is not None  # asked for where there is one
        return [source_words(name, self.scenario.nouns) for name in found.counted]

    @property
    def scales_counted(self) -> bool:
        """Whether the scale of a sensor is among it."""
        found = self.discrepancy.balance
        return found is not None and any(name in found.counted for name in SCALES)

    @property
    def alone(self) -> Mapping[str, Outcome]:
        """What one cause alone would be; without a measured pull the most that friction can be."""
        found, told = self.discrepancy.alone, self.discrepancy.estimates
        most = {} if "friction" in found else {"friction_at_most": told.get("friction_at_most")}
        values = {**found, **most}
        return {key: each for key in ALONE if (each := values.get(key)) is not None}

    def alone_cell(self, key: str) -> str:
        """One of these in the unit in which a lab thinks of it."""
        (factor, unit), value = ALONE[key], self.alone[key]
        u = None if value.u is None else factor * value.u
        shown = Outcome(value=factor * value.value, u=u, step=factor * value.step)
        return self.in_cell(shown, unit)

    @property
    def alone_negative(self) -> str:
        """Whether one of them is less than none: by more than its limit (``less``), by an
        ``open`` amount, or not by much (``none``); empty where it isn't.
        """
        if not any(each.value < 0 for key, each in self.alone.items() if key in RESISTS):
            return ""
        signs = [self.sign(each) for place, each in self.beside.items() if place != "everything"]
        return next((sign for sign in ("less", "open") if sign in signs), "none")

    @property
    def given_friction(self) -> str:
        """The coefficient at the watched object, as its author wrote it."""
        body = self.scenario.objects[self.watched]
        assert isinstance(body, Slider)  # only what slides has one
        friction = body.friction or self.scenario.surfaces[body.runs_on].friction
        return as_written(friction).replace(" ", "\u00a0")

    # ---- what can be told apart

    @property
    def fitted(self) -> Mapping[str, Separation]:
        """The fits to show: of everything, and without extra inertia where that is allowed."""
        whole, plain = self.discrepancy.separation, self.discrepancy.plain
        assert whole is not None  # asked for where there is one
        shown = plain is not None and Unknown.INERTIA in whole.settled
        return {"value": whole} | ({"plain": plain} if plain is not None and shown else {})

    @property
    def signs(self) -> Iterator[tuple[str, str, Sequence[Unknown]]]:
        """What differs from zero (``real``), what is negative by chance or beyond (``negative``,
        ``negative-real``): in which column, and which; columns that say the same together.
        """
        for key in ("real", "negative", "negative-real"):
            lists = {
                column: [
                    each for each, value in fit.settled.items() if key in self._says(each, value)
                ]
                for column, fit in self.fitted.items()
            }
            same = all(each == lists["value"] for each in lists.values())
            shared = {"only" if len(lists) == 1 else "both": lists["value"]}
            for column, unknowns in (shared if same else lists).items():
                if unknowns or key == "real":
                    yield key, column, unknowns

    def _says(self, unknown: Unknown, value: Outcome) -> Sequence[str]:
        real = ["real"] if self.sign(value) != "none" else []
        if value.value >= 0 or unknown in EITHER_SIGN:
            return real
        return [*real, "negative-real" if real else "negative"]

    # ---- influences that the model leaves out

    def pulleys_have(self, what: str) -> bool:
        """Whether the model has an ``inertia`` or a ``bearing_torque`` of a pulley."""
        return any(getattr(self.pulleys[name], what) for name in self.rotors)

    @staticmethod
    def in_units(influence: Influence, value: float) -> str:
        """An amount in the unit in which a lab thinks of it."""
        factor, unit = SHOWN.get(influence.unit, (1.0, f"\u00a0{influence.unit}"))
        return to_figures(factor * value, 2) + unit
