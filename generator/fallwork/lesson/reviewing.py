"""The review of a lab's numbers in words, for those who choose them.

Takes the findings of the planning stage; gives rows of a table, and a sentence of advice for each
finding that doesn't fit.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from fallwork.lesson.layout import plain_unit
from fallwork.lesson.measured.words import given_in_words
from fallwork.lesson.rounding import rounded
from fallwork.lesson.words import listing, say, upper_first
from fallwork.planning.plausible import DateDoubt, Doubt
from fallwork.planning.review import Aspect, Finding, Verdict
from fallwork.scenario.nouns import Nouns

FILE = "reviewing"
FIGURES = 2
PERCENT = "%"
UNITS = {
    Aspect.SPEED: "m/s",
    Aspect.TIME: "s",
    Aspect.READINGS: "",
    Aspect.RESISTANCE: PERCENT,
    Aspect.TENSION: PERCENT,
    Aspect.ROOM: "m",
    Aspect.UNCERTAINTY: PERCENT,
}


@dataclass(frozen=True, kw_only=True)
class ReviewRow:
    """One finding as a reader sees it."""

    what: str
    value: str
    wanted: str
    verdict: str


def rows(findings: Sequence[Finding], nouns: Nouns) -> tuple[ReviewRow, ...]:
    """Every finding with what would be good."""
    return tuple(
        ReviewRow(
            what=upper_first(_say(f"rows.{each.aspect.value}", the_object=_the(each, nouns))),
            value=_amount(each.aspect, each.value),
            wanted=_wanted(each),
            verdict=_say(f"verdicts.{each.verdict.value}"),
        )
        for each in findings
    )


def advice(findings: Sequence[Finding], nouns: Nouns) -> tuple[str, ...]:
    """What to change, a few sentences for each finding that doesn't fit."""
    return tuple(_advice(each, nouns) for each in findings if each.verdict is not Verdict.FITS)


def heads() -> tuple[str, ...]:
    """The heads of the columns of ``ReviewRow``."""
    return tuple(_say(f"head.{name}") for name in ("what", "value", "wanted", "verdict"))


def caption() -> str:
    """The name of the table."""
    return _say("caption")


def doubt_in_words(doubt: Doubt) -> str:
    """That a number can hardly be meant, why, and what may have been."""
    given = doubt.given
    meant = listing([f"{given.number} {unit}" for unit in doubt.fits], "or")
    key = "unit" if meant else "other" if given.unit else "point"
    return _say(
        key,
        of="doubts",
        path=doubt.path,
        given=f"{given.number} {given.unit}".strip(),
        because=doubt.because,
        meant=meant,
    )


def date_in_words(doubt: DateDoubt, term: str, zone: ZoneInfo) -> str:
    """That a date can hardly be meant."""
    date, other = (f"{at.astimezone(zone):%Y-%m-%d}" for at in (doubt.at, doubt.others))
    key = "year" if doubt.year else "date"
    return _say(key, of="doubts", path=doubt.path, date=date, other=other, term=term)


def without_trials(path: str, at: datetime, zone: ZoneInfo) -> str:
    """That trials have a date and don't exist."""
    return _say("no-trials", of="doubts", path=path, date=f"{at.astimezone(zone):%Y-%m-%d}")


def _advice(finding: Finding, nouns: Nouns) -> str:
    return _say(
        f"advice.{finding.aspect.value}.{finding.verdict.value}",
        the_object=_the(finding, nouns),
        value=_amount(finding.aspect, finding.value),
        cause=given_in_words(finding.cause, nouns) if finding.cause else "",
    )


def _the(finding: Finding, nouns: Nouns) -> str:
    return nouns.the(finding.of) if finding.of else ""


def _wanted(finding: Finding) -> str:
    ends = {"low": finding.low, "high": finding.high}
    known = {
        name: _with_unit(finding.aspect, f"{_size(finding.aspect, end):g}")
        for name, end in ends.items()
        if end is not None
    }
    return _say(f"wanted.{'both' if len(known) > 1 else next(iter(known))}", **known)


def _amount(aspect: Aspect, value: float) -> str:
    size = _size(aspect, value)
    if aspect is Aspect.READINGS or size == 0:
        return _with_unit(aspect, f"{size:.0f}")
    return _with_unit(aspect, rounded(size, FIGURES).text)


def _size(aspect: Aspect, value: float) -> float:
    return 100 * value if UNITS[aspect] == PERCENT else value


def _with_unit(aspect: Aspect, digits: str) -> str:
    return f"{digits}{plain_unit(UNITS[aspect])}".replace(" ", "\u00a0")


def _say(key: str, *, of: str = "design", **parts: str) -> str:
    return say(f"{of}.{key}", FILE, **parts)
