"""The sections of a lab, and the order in which its dates must come."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from operator import itemgetter
from typing import Annotated, Any, NamedTuple

from fallwork.scenario.model import TITLE
from fallwork.scenario.records import Key
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


_DATES = ("opens", "data_opens", "due")


def whole_sections(lab: Any) -> dict[str, Section]:
    """The sections of a lab as it was read, with all their dates and titles."""
    return {
        name: replace(section, title=section.title or name, **(_given(lab) | _given(section)))
        for name, section in lab.sections.items()
        if section
    }


def _given(holder: Any) -> dict[str, datetime]:
    return {key: at for key in _DATES if (at := getattr(holder, key))}


def check_dates(lab: Any, base: Keys, reading: Reading) -> datetime | None:
    """When a lab opens first, if that can be read, after noting every date in the wrong order.

    The lab is as it was read, ``base`` its path.
    """
    own = _given(lab)
    groups = [_Group("", base, own, own)]
    for name, section in lab.sections.items():
        if section:
            path, below = (*base, "sections", name), _given(section)
            groups.append(_Group(f" of section {name}", path, own | below, below))
    in_order = [_is_in_order(group, reading) for group in groups]
    if all(in_order):
        _check_trials_for_all(groups, reading)
    due = [(at, f"due{each.words}") for each in groups if (at := each.dates.get("due"))]
    due += [(lab.extended_to, "extended_to")] if lab.extended_to else []
    last, which = max(due, key=itemgetter(0), default=(None, ""))
    if last and lab.solution_opens and lab.solution_opens <= last:
        reading.refuse((*base, "solution_opens"), "solution-before-due", last=which)
    opens = [at for group in groups if (at := group.dates.get("opens"))]
    return min(opens) if lab.opens else None


class _Group(NamedTuple):
    """Everybody in no section, or one section."""

    words: str  # "" or " of section thursday"
    base: Keys  # the path of its own keys
    dates: Mapping[str, datetime]  # by key; one that is missing isn't there
    own: Mapping[str, datetime]  # those that it gives itself


_ORDER = {
    ("opens", "due"): "due-before-opens",
    ("opens", "data_opens"): "data-before-opens",
    ("data_opens", "due"): "due-before-data",
}


def _is_in_order(group: _Group, reading: Reading) -> bool:
    """Whether it is; what else is in the wrong order follows from the same date."""
    for (first, second), reason in _ORDER.items():
        own = [key for key in (second, first) if key in group.own]
        known = first in group.dates and second in group.dates
        if own and known and group.dates[second] < group.dates[first]:
            reading.refuse((*group.base, own[0]), reason, of=group.words)
            return False
    return True


def _check_trials_for_all(groups: Sequence[_Group], reading: Reading) -> None:
    """One page holds the trials for all sections, so it waits for the last of them."""
    opens = [(at, group) for group in groups if (at := group.dates.get("data_opens"))]
    dues = [(at, group) for group in groups if (at := group.dates.get("due"))]
    if not opens or not dues:
        return
    (last, late), (first, early) = max(opens, key=itemgetter(0)), min(dues, key=itemgetter(0))
    if first < last:
        whose = early.words or " of the others"
        reading.refuse((*late.base, "data_opens"), "data-after-due", of=whose)
