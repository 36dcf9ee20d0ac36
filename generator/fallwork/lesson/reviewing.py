"""The review of a lab's numbers in words, for those who choose them.

Takes the findings of the planning stage; gives rows of a table, and a sentence of advice for each
finding that doesn't fit.
"""

from collections.abc import Sequence
from datetime import datetime
from zoneinfo import ZoneInfo

from fallwork.lesson.measured.words import given_in_words
from fallwork.lesson.rounding import to_figures
from fallwork.lesson.words import told
from fallwork.planning.plausible import DateDoubt, Doubt
from fallwork.planning.review import Finding, Verdict
from fallwork.scenario.nouns import Nouns


def rows(findings: Sequence[Finding], nouns: Nouns) -> tuple[tuple[str, ...], ...]:
    """Every finding with its value, what would be good, and the verdict."""
    return tuple(told("reviewing", "row", each, _the(each, nouns), to_figures) for each in findings)


def advice(findings: Sequence[Finding], nouns: Nouns) -> tuple[str, ...]:
    """What to change, a few sentences for each finding that doesn't fit."""
    return tuple(
        _told("advice", each, _the(each, nouns), to_figures, _cause(each, nouns))
        for each in findings
        if each.verdict is not Verdict.FITS
    )


def doubt_in_words(doubt: Doubt) -> str:
    """That a number can hardly be meant, why, and what may have been."""
    return _told("number", doubt)


def date_in_words(doubt: DateDoubt, term: str, zone: ZoneInfo) -> str:
    """That a date can hardly be meant."""
    return _told("date", doubt, *(_day(at, zone) for at in (doubt.at, doubt.others)), term)


def without_trials(path: str, at: datetime, zone: ZoneInfo) -> str:
    """That trials have a date and don't exist."""
    return _told("no_trials", path, _day(at, zone))


def _cause(finding: Finding, nouns: Nouns) -> str:
    return given_in_words(finding.cause, nouns) if finding.cause else ""


def _the(finding: Finding, nouns: Nouns) -> str:
    return nouns.the(finding.of) if finding.of else ""


def _day(at: datetime, zone: ZoneInfo) -> str:
    return f"{at.astimezone(zone):%Y-%m-%d}"


def _told(macro: str, *of: object) -> str:
    return "".join(told("reviewing", macro, *of))
