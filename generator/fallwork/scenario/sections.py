"""The sections of a lab, and the order in which its dates must come."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Annotated, Any, NamedTuple

from fallwork.scenario.model import TITLE
from fallwork.scenario.records import Key, Record
from fallwork.scenario.report import refusal
from fallwork.scenario.shapes import MOMENT, Reading
from fallwork.scenario.tree import Keys


@dataclass(frozen=True, kw_only=True)
class Section:
    """A group of a lab with dates of its own; those that the file leaves out are the lab's."""

    id: str
    title: Annotated[str, TITLE] = ""
    opens: Annotated[datetime, Key(MOMENT, must=False)]
    data_opens: Annotated[datetime | None, MOMENT] = None
    due: Annotated[datetime, Key(MOMENT, must=False)]


SECTION = Record("a section", Section)
_DATES = ("opens", "data_opens", "due")


class _Group(NamedTuple):
    """Everybody in no section, or one section."""

    words: str  # "" or " of section thursday"
    base: Keys  # the path of its own keys
    dates: Mapping[str, datetime]  # by key; one that is missing isn't there
    own: Mapping[str, datetime]  # those that it gives itself


def whole_sections(lab: Any) -> dict[str, Section]:
    """The sections of a lab as it was read, with all their dates and titles."""
    return {
        name: replace(
            section,
            title=section.title or name,
            **{key: getattr(section, key) or getattr(lab, key) for key in _DATES},
        )
        for name, section in lab.sections.items()
        if section
    }


def check_dates(lab: Any, base: Keys, reading: Reading) -> datetime | None:
    """When a lab opens first, if that can be read, after noting every date in the wrong order.

    The lab is as it was read, ``base`` its path.
    """
    groups = tuple(_groups(lab, base))
    noted = len(reading.report)
    for group in groups:
        _check_group(group, reading)
    if len(reading.report) == noted:
        _check_trials_for_all(groups, reading)
    _check_solution(lab, groups, base, reading)
    opens = [group.dates["opens"] for group in groups if "opens" in group.dates]
    return min(opens) if lab.opens else None


def _groups(lab: Any, base: Keys) -> Iterator[_Group]:
    own = _given(lab)
    yield _Group("", base, own, own)
    for name, section in lab.sections.items():
        if section:
            below = _given(section)
            path = (*base, "sections", name)
            yield _Group(f" of section {name}", path, {**own, **below}, below)


def _given(holder: Any) -> dict[str, datetime]:
    return {key: at for key in _DATES if (at := getattr(holder, key))}


_ORDER = {
    ("opens", "due"): "due-before-opens",
    ("opens", "data_opens"): "data-before-opens",
    ("data_opens", "due"): "due-before-data",
}


def _check_group(group: _Group, reading: Reading) -> None:
    for (first, second), reason in _ORDER.items():
        own = [key for key in (second, first) if key in group.own]
        if not own or first not in group.dates or second not in group.dates:
            continue
        if group.dates[second] < group.dates[first]:
            reading.impossible((*group.base, own[0]), *refusal(reason, of=group.words))
            return  # what else is in the wrong order follows from the same date


def _check_trials_for_all(groups: tuple[_Group, ...], reading: Reading) -> None:
    """One page holds the trials for all sections, so it waits for the last of them."""
    with_data = [group for group in groups if "data_opens" in group.dates]
    with_due = [group for group in groups if "due" in group.dates]
    if not with_data or not with_due:
        return
    last = max(with_data, key=lambda group: group.dates["data_opens"])
    first = min(with_due, key=lambda group: group.dates["due"])
    if first.dates["due"] < last.dates["data_opens"]:
        words = refusal("data-after-due", of=first.words or " of the others")
        reading.impossible((*last.base, "data_opens"), *words)


def _check_solution(lab: Any, groups: tuple[_Group, ...], base: Keys, reading: Reading) -> None:
    due = [(group.dates["due"], f"due{group.words}") for group in groups if "due" in group.dates]
    if lab.extended_to:
        due.append((lab.extended_to, "extended_to"))
    at, last = max(due, key=lambda each: each[0], default=(None, ""))
    if at and lab.solution_opens and lab.solution_opens <= at:
        reading.impossible((*base, "solution_opens"), *refusal("solution-before-due", last=last))
