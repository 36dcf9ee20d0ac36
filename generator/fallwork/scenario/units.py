"""The table of units by kind of quantity, from ``units.yaml``.

Takes a kind and a unit as written; gives the unit's own spelling and its exact SI factor.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from importlib.resources import files

import yaml


@dataclass(frozen=True, kw_only=True)
class Kind:
    """A kind of quantity and the units in which it may be given."""

    name: str
    say: str  # with its article: "a mass"
    example: str  # "420.0 g"
    factors: Mapping[str, Decimal | None]  # SI units in one unit; None for the degree
    also: Mapping[str, str]  # other word -> spelling in ``factors``

    @property
    def si_unit(self) -> str:
        """The SI unit, e.g. "kg"; "" for a plain number."""
        return next(iter(self.factors))

    @property
    def plain(self) -> bool:
        """Whether it is given as a number without a unit."""
        return self.si_unit == ""

    def spelling(self, unit: str) -> str | None:
        """The table's spelling of a unit as written; None if this kind has no such unit."""
        unit = " ".join(unit.replace("·", " ").replace("\u03bc", "\u00b5").split())
        unit = re.sub(r"\^?2$", "²", self.also.get(unit, unit))
        return unit if unit in self.factors else None

    def pattern(self) -> str:
        """A regular expression for every spelling of its units; "" for a plain number."""
        words = "|".join(word for word in (*self.factors, *self.also) if word)
        return words.replace(" ", "[ ·]").replace("²", r"(?:²|\^?2)").replace("µ", "[µ\u03bc]")


@cache
def kinds() -> Mapping[str, Kind]:
    """All kinds of quantity by name, in the order of the table."""
    text = files("fallwork.scenario").joinpath("units.yaml").read_text("utf-8")
    rows = yaml.load(text, Loader=yaml.BaseLoader)
    return {name: _kind(name, row) for name, row in rows.items()}


def _kind(name: str, row: Mapping[str, dict[str, str]]) -> Kind:
    return Kind(
        name=name,
        say=str(row["say"]),
        example=str(row["example"]),
        factors={
            unit: None if factor == "degree" else Decimal(factor)
            for unit, factor in row["units"].items()
        },
        also=row.get("also", {}),
    )


def kinds_of_unit(unit: str) -> tuple[Kind, ...]:
    """The kinds of quantity that are given in this unit."""
    return tuple(kind for kind in kinds().values() if kind.spelling(unit) is not None)
