"""The dates of a lab and of its sections, and the order in which they must come.

Takes what a term file says; gives sections with all their dates. Raises nothing: problems go to
the report.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime

from fallwork.scenario.layout import TITLE
from fallwork.scenario.model import Section
from fallwork.scenario.names import lab_id
from fallwork.scenario.records import Field, Named, Record
from fallwork.scenario.shapes import Reading, Shape
from fallwork.scenario.tree import Keys


@dataclass(frozen=True, kw_only=True)
class SectionDraft:
    """A section as far as it could be read; what it leaves out is the lab's."""

    id: str
    title: str = ""
    opens: datetime | None = None
    data_opens: datetime | None = None
    due: datetime | None = None


@dataclass(frozen=True, kw_only=True)
class Dates:
    """A lab's own dates and those of its sections, as far as they could be read."""

    opens: datetime | None = None
    data_opens: datetime | None = None
    due: datetime | None = None
    solution_opens: datetime | None = None
    extended_to: datetime | None = None
    sections: Mapping[str, SectionDraft | None] = field(default_factory=dict)

    @property
    def opens_first(self) -> datetime | None:
        """From when on anybody has the lab; None where its own date can't be read."""
        if self.opens is None:
            return None
        sections = (each.opens for each in self.sections.values() if each is not None)
        return min([self.opens, *(at for at in sections if at is not None)])


@dataclass(frozen=True, kw_only=True)
class _Group:
    """Everybody in no section, or one section."""

    words: str  # "" or " of section thursday"
    base: Keys  # the path of its own keys
    dates: Mapping[str, datetime]  # by key; one that is missing isn't there
    own: tuple[str, ...]  # the keys that it gives itself


def sections_shape(moment: Shape) -> Named:
    """Sections by id."""
    return Named(
        what="the section's id",
        of="a section",
        check=lab_id,
        value=Record(
            what="a section",
            make=SectionDraft,
            named="id",
            fields={
                "title": Field(shape=TITLE, says="What the pages call it; the id if left out"),
                "opens": Field(shape=moment, says="When it needs the prelab"),
                "data_opens": Field(shape=moment, says="When it may see the trials"),
                "due": Field(shape=moment, says="When its reports are due"),
            },
        ),
    )


def sections_of(dates: Dates) -> dict[str, Section]:
    """The sections with all their dates; empty where the lab's own dates can't be read."""
    if dates.opens is None or dates.due is None:
        return {}
    return {
        name: Section(
            id=name,
            title=draft.title or name,
            opens=draft.opens or dates.opens,
            data_opens=draft.data_opens or dates.data_opens,
            due=draft.due or dates.due,
        )
        for name, draft in dates.sections.items()
        if draft is not None
    }


def check_dates(dates: Dates, base: Keys, reading: Reading) -> None:
    """Note every date that comes in the wrong order; ``base`` is the path of the lab."""
    groups = tuple(_groups(dates, base))
    noted = len(reading.report)
    for group in groups:
        _check_group(group, reading)
    if len(reading.report) == noted:
        _check_trials_for_all(groups, reading)
    _check_solution(dates, groups, base, reading)


def _groups(dates: Dates, base: Keys) -> Iterator[_Group]:
    own = _given(dates)
    yield _Group(words="", base=base, dates=own, own=tuple(own))
    for name, draft in dates.sections.items():
        if draft is not None:
            below = _given(draft)
            yield _Group(
                words=f" of section {name}",
                base=(*base, "sections", name),
                dates={**own, **below},
                own=tuple(below),
            )


def _given(holder: Dates | SectionDraft) -> dict[str, datetime]:
    dates = {"opens": holder.opens, "data_opens": holder.data_opens, "due": holder.due}
    return {key: at for key, at in dates.items() if at is not None}


_ORDER = {
    ("opens", "due"): "reports{of} due before the lab opens",
    ("opens", "data_opens"): "trials{of} that open before the lab does",
    ("data_opens", "due"): "reports{of} due before the trials open",
}


def _check_group(group: _Group, reading: Reading) -> None:
    for (first, second), words in _ORDER.items():
        own = [key for key in (second, first) if key in group.own]
        if not own or first not in group.dates or second not in group.dates:
            continue
        if group.dates[second] < group.dates[first]:
            reading.report.impossible(
                reading.values[(*group.base, own[0])],
                words.replace("{of}", group.words),
                f"{second} must not be before {first}",
            )
            return  # what else is in the wrong order follows from the same date


def _check_trials_for_all(groups: Iterable[_Group], reading: Reading) -> None:
    """One page holds the trials for all sections, so it waits for the last of them."""
    with_data = [group for group in groups if "data_opens" in group.dates]
    if not with_data:
        return
    last = max(with_data, key=lambda group: group.dates["data_opens"])
    first = min(
        (group for group in groups if "due" in group.dates),
        key=lambda group: group.dates["due"],
        default=last,
    )
    if "due" in first.dates and first.dates["due"] < last.dates["data_opens"]:
        reading.report.impossible(
            reading.values[(*last.base, "data_opens")],
            f"trials that open after the reports{first.words or ' of the others'} are due",
            "all sections see the trials at once, when the last of them may; "
            "give this section a lab of its own (another id with scenario: …)",
        )


def _check_solution(dates: Dates, groups: Iterable[_Group], base: Keys, reading: Reading) -> None:
    due = [(group.dates["due"], "due", group.words) for group in groups if "due" in group.dates]
    if dates.extended_to is not None:
        due.append((dates.extended_to, "extended_to", ""))
    if not due or dates.solution_opens is None:
        return
    at, key, words = max(due, key=lambda each: each[0])
    if dates.solution_opens <= at:
        reading.report.impossible(
            reading.values[(*base, "solution_opens")],
            "a solution that opens while reports may still come in",
            f"solution_opens must be later than {key}{words}",
        )
