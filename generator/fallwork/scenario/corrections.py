"""Corrections and withdrawals in a term file, and corrections as text to paste.

What a correction accounts for is seen where pages are built.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from math import inf
from typing import Annotated, Any
from zoneinfo import ZoneInfo

import yaml

from fallwork.scenario.dates import read_date
from fallwork.scenario.report import UnreadableError
from fallwork.scenario.shapes import MOMENT, Reading, text
from fallwork.scenario.tree import Keys

_BECAUSE = text("a reason", "the cart was weighed without its hook")
_FORMER = text("a former value", "507.3 g", or_number=True)
_FIELD = text("a field", "cart.mass", pattern=r"^(?:[a-z0-9-]+(?:\.[a-z0-9_-]+)*|measured\..+)$")


@dataclass(frozen=True, kw_only=True)
class Correction:
    """A dated change of something that was open already."""

    at: Annotated[datetime, MOMENT]
    field: Annotated[str, _FIELD]
    was: Annotated[str, _FORMER] = ""  # as written; "" where it isn't said
    because: Annotated[str, _BECAUSE]


@dataclass(frozen=True, kw_only=True)
class Withdrawal:
    """From ``at`` on the pages of a lab hold one sentence and nothing else."""

    at: Annotated[datetime, MOMENT]
    because: Annotated[str, _BECAUSE]


def pasteable(*, at: str, field: str, was: str) -> str:
    """A correction for a term file, in braces, with its reason left open; without ``was`` where
    nothing stood there. Any text is quoted as YAML asks.
    """
    return _in_flow({"at": at, "field": field, **({"was": was} if was else {}), "because": "…"})


def pasteable_text(text: str) -> str:
    """A text as it can stand behind a key, in braces too."""
    return _in_flow([text])[1:-1]


class _Dumper(yaml.SafeDumper):
    """Quotes what must be quoted, and nothing for what it looks like: files are read as text."""


_Dumper.yaml_implicit_resolvers = {}


def _in_flow(content: object) -> str:
    looks: dict[str, Any] = {"default_flow_style": True, "allow_unicode": True, "width": inf}
    return str(yaml.dump(content, Dumper=_Dumper, sort_keys=False, **looks)).removesuffix("\n")


def one_line(text: str) -> str:
    """A text without line breaks and hidden signs, as a term file can hold it."""
    return " ".join(re.sub("[\x00-\x1f\x7f-\x9f\u2028\u2029]", " ", text).split())


def date_of_correction(now: datetime, earliest: datetime, zone: ZoneInfo) -> str:
    """What to write for a correction made ``now``: the day, or a time where the day begins too
    early, because a correction comes after the opening and after every older one.
    """
    later = max(now, earliest).astimezone(UTC)
    day = f"{later.astimezone(zone):%Y-%m-%d}"
    half_hours = (later + timedelta(minutes=30 * n) for n in range(_LONGEST_CHANGE))
    for said in (day, *(f"{at.astimezone(zone):%Y-%m-%dT%H:%M}" for at in half_hours)):
        try:
            if read_date(said, zone) >= earliest:
                return said
        except UnreadableError:  # e.g. a time that comes twice, where the clocks go back
            continue
    return day


_LONGEST_CHANGE = 8  # half-hours after which clocks that go back have done so


def check_corrections(
    corrections: Sequence[Correction | None], opens: datetime | None, path: Keys, reading: Reading
) -> None:
    """Corrections come in order, and none before the lab has opened."""
    before = opens
    for index, each in enumerate(corrections):
        if each and each.at and before:
            if each.at < before:
                reason = "before-opens" if before == opens else "out-of-order"
                reading.refuse((*path, str(index), "at"), f"correction-{reason}")
            before = max(before, each.at)
