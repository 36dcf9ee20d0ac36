"""How the trials of a lab are given in a term file: records in files, or typed-in values.

Takes nothing; gives their layout. What they must be like together is seen in ``trials``.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from fallwork.scenario.model import Excluded, GivenMean, Quantity, SensorsGiven, Window
from fallwork.scenario.records import Field, Items, Record
from fallwork.scenario.shapes import Choice, Count, Measure, Reading, Shape, Text, found_in
from fallwork.scenario.tree import Keys, Listing, Node, Scalar
from fallwork.scenario.tree import Mapping as MappingNode

VALUE_KINDS: Mapping[str, str] = {
    "acceleration": "acceleration",
    "tension": "force",
    "final_speed": "speed",
}
CHANNELS = ("position", "velocity", "force")
ZEROS = ("slack", "held", "none")
WHOSE = ("bench", "class", "lent", "simulation")
MISSING = "none"  # stands for the value of a trial that has none
MOST_TRIALS = 1000


@dataclass(frozen=True, kw_only=True)
class MeasuredDraft:
    """The trials as far as they could be read."""

    files: str = ""
    acceleration: Any = None
    tension: Any = None
    final_speed: Any = None
    signs: Mapping[str, int] = field(default_factory=dict)
    windows: tuple[Window, ...] = ()
    exclude: tuple[Excluded, ...] = ()
    include: tuple[Excluded, ...] = ()
    sensors: SensorsGiven = field(default_factory=SensorsGiven)
    whose: Any = ""
    zero: Any = ""

    @property
    def values(self) -> dict[str, Any]:
        """The typed-in values that could be read."""
        given = {key: getattr(self, key) for key in VALUE_KINDS}
        return {key: value for key, value in given.items() if value is not None}


@dataclass(frozen=True, kw_only=True)
class Values(Shape):
    """A list with one entry a trial; or a mean, ``1.497 m/s²`` alone or in a mapping with ``n`` and
    ``standard_deviation``, or with a ± of its own, as far as they are known.
    """

    kind: str

    def read_sound(
        self, node: Node, path: Keys, reading: Reading
    ) -> GivenMean | tuple[Quantity | None, ...] | None:
        """A mean, or the values of the trials; None where neither can be read."""
        if isinstance(node, Listing):
            values: tuple[Quantity | None, ...] = self._trials().read_sound(node, path, reading)
            return values or None
        if isinstance(node, MappingNode):
            return self._checked(self._mean().read_sound(node, path, reading), path, reading)
        if isinstance(node, Scalar) and node.text.strip():
            value = Measure(kind=self.kind).read(node, path, reading)
            reading.values[(*path, "value")] = node.place
            return self._checked(GivenMean(value=value), path, reading)
        reading.report.malformed(
            node.place,
            f"{found_in(node)} where measured values should stand",
            "write a mean, {value: …, n: …}, or a list with one value a trial",
        )
        return None

    def _checked(self, mean: GivenMean, path: Keys, reading: Reading) -> GivenMean:
        for key, found, expected in _doubts(mean):
            reading.report.malformed(reading.values[(*path, key)], found, expected)
        return mean

    def _trials(self) -> Items:
        return Items(
            what="the list of values",
            example="[…, …]",
            item=TrialValue(kind=self.kind),
            at_most=MOST_TRIALS,
        )

    def _mean(self) -> Record:
        return Record(
            what="a mean",
            make=GivenMean,
            fields={
                "value": Field(
                    shape=Measure(kind=self.kind),
                    says="The mean over all trials, with its standard uncertainty if it is known",
                    required=True,
                ),
                "n": Field(
                    shape=Count(what="the number of trials", at_least=1, at_most=MOST_TRIALS),
                    says="How many trials it is the mean of",
                ),
                "standard_deviation": Field(
                    shape=Measure(kind=self.kind),
                    says="That of the single trials, in place of ±",
                    attribute="deviation",
                ),
            },
        )

    def json_schema(self) -> dict[str, Any]:
        """Any of the three."""
        forms = (Measure(kind=self.kind), self._mean(), self._trials())
        return {"anyOf": [form.json_schema() for form in forms]}


def _doubts(mean: GivenMean) -> Iterator[tuple[str, str, str]]:
    """Key, what was found and what would be right: the uncertainty is said once, and isn't 0."""
    stated, spread = mean.value.uncertainty, mean.deviation
    if stated and mean.value.u == 0:
        yield "value", f"a mean with ± {stated}", "leave ± out where the uncertainty isn't known"
    if spread is None or not spread.number:
        return
    key = "standard_deviation"
    if stated:
        yield (
            key,
            f"a standard deviation beside ± {stated}",
            "give one of them: ± is the standard uncertainty of the mean, the standard deviation "
            "divided by √n",
        )
    elif mean.n is None:
        yield key, "a standard deviation without n", "add n, the number of trials"
    elif mean.n == 1:
        yield key, "a standard deviation of one trial", "take it out: one value has no scatter"
    elif spread.value <= 0:
        yield (
            key,
            f"a standard deviation of {spread.number} {spread.unit}",
            "leave it out: where all trials read alike, the last digit hides how they scatter",
        )


@dataclass(frozen=True, kw_only=True)
class TrialValue(Shape):
    """The value of one trial, or ``none``."""

    kind: str

    def read_sound(self, node: Node, path: Keys, reading: Reading) -> Quantity | None:
        """None where the trial has no such value, or where it can't be read."""
        if isinstance(node, Scalar) and node.text.strip() == MISSING:
            return None
        noted = len(reading.report)
        quantity = Measure(kind=self.kind).read_sound(node, path, reading)
        if len(reading.report) == noted:
            return quantity
        reading.unread.append(path)
        return None

    def json_schema(self) -> dict[str, Any]:
        """A quantity or the word."""
        return {"anyOf": [{"const": MISSING}, Measure(kind=self.kind).json_schema()]}


@dataclass(frozen=True, kw_only=True)
class Sign(Shape):
    """``1`` or ``-1``."""

    stand_in: int = 1

    def read_sound(self, node: Node, path: Keys, reading: Reading) -> int:
        """The sign, or 1 where it can't be read."""
        signs = {"1": 1, "+1": 1, "-1": -1, "−1": -1}
        text = node.text.strip() if isinstance(node, Scalar) else ""
        if text not in signs:
            reading.report.malformed(
                node.place, f"{found_in(node)} where a sign should stand", "write 1 or -1"
            )
        return signs.get(text, self.stand_in)

    def json_schema(self) -> dict[str, Any]:
        """The two numbers."""
        return {"enum": [1, -1]}


def _signs(**channels: int) -> Mapping[str, int]:
    return channels


def _share(says: str) -> Field:
    """A relative standard uncertainty."""
    bound = "a relative uncertainty lies between 0 and 1"
    return Field(shape=Measure(kind="coefficient", at_least=0, at_most=1, bound=bound), says=says)


def _amount(kind: str, says: str) -> Field:
    bound = "it must not be negative"
    return Field(shape=Measure(kind=kind, at_least=0, bound=bound), says=says)


A_TRIAL = Field(
    shape=Text(what="a trial", example="7 or trial-07", or_number=True),
    says="Its number or its name",
    required=True,
)
ANY_TRIAL = Field(
    shape=Text(what="a trial", example="7, trial-07 or all", or_number=True),
    says="Its number or its name, or all",
    required=True,
)
A_REASON = Text(what="a reason", example="the cable dragged")


def _named(what: str, item: str, trial: Field, example: str, says: str) -> Field:
    """A list of trials, each with the reason for what is done with it."""
    reason = Field(shape=A_REASON, says="The reason, shown on the page", required=True)
    entry = Record(what=item, make=Excluded, fields={"trial": trial, "because": reason})
    return Field(shape=Items(what=what, example=example, item=entry, at_least=0), says=says)


SENSORS = Record(
    what="the sensors",
    make=SensorsGiven,
    fields={
        "position_scale": _share("Relative standard uncertainty of positions and velocities"),
        "force_scale": _share("Relative standard uncertainty of forces"),
        "force_zero": _amount("force", "Standard uncertainty of the force sensor's zero"),
        "position_step": _amount("length", "The last place in which positions are shown"),
        "force_step": _amount("force", "The last place in which forces are shown"),
    },
)

MEASURED = Record(
    what="the trials",
    make=MeasuredDraft,
    fields={
        "files": Field(
            shape=Text(what="a pattern of files", example="2027-spring/level-track/*.csv"),
            says="CSV records, from the folder trials on; * stands for any part of a name",
        ),
        **{
            key: Field(
                shape=Values(kind=kind),
                says=f"{key}: a mean, or a list with one value a trial",
            )
            for key, kind in VALUE_KINDS.items()
        },
        "signs": Field(
            shape=Record(
                what="the signs",
                make=_signs,
                fields={
                    channel: Field(shape=Sign(), says="-1 where it counts against the run")
                    for channel in CHANNELS
                },
            ),
            says="Sensors that count the other way, e.g. {force: -1}",
        ),
        "windows": Field(
            shape=Items(
                what="the windows",
                example="[{trial: 3, from: 0.52 s, to: 1.40 s}]",
                item=Record(
                    what="a window",
                    make=Window,
                    fields={
                        "trial": A_TRIAL,
                        "from": Field(
                            shape=Measure(kind="time"),
                            says="When it is released, on the record's own clock",
                            required=True,
                            attribute="start",
                        ),
                        "to": Field(
                            shape=Measure(kind="time"),
                            says="When the driven part ends",
                            required=True,
                            attribute="end",
                        ),
                    },
                ),
            ),
            says="Where the run lies, for trials in which it isn't found right",
        ),
        "exclude": _named(
            "the excluded trials",
            "an excluded trial",
            A_TRIAL,
            "[{trial: 7, because: the cable dragged}]",
            "Trials that don't count, each with its reason",
        ),
        "include": _named(
            "the included trials",
            "an included trial",
            ANY_TRIAL,
            "[{trial: 7, because: the pad lay 20 cm lower that day}]",
            "Trials that count although they don't fit the lab, each with its reason",
        ),
        "sensors": Field(shape=SENSORS, says="What all trials share and no record tells"),
        "whose": Field(
            shape=Choice(what="a word", words=WHOSE),
            says="Whose trials they are: one bench's, the whole class's, lent, or simulated",
        ),
        "zero": Field(
            shape=Choice(what="a word", words=ZEROS),
            says="Where the force sensor's zero is taken from: the stretch after landing in which "
            "the string is slack, the one before release in which it carries the weight, or none",
        ),
    },
)
