"""A term's file with labs more: their lines, their dates, and the course as it is with them.

Takes proposals and an earlier term; gives the text of the file, in which all else stays as it is.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from itertools import count as counted_from
from itertools import takewhile
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any
from zoneinfo import ZoneInfo

import yaml

from fallwork.commands.call import CallError
from fallwork.commands.notes import on_lab
from fallwork.errors import BadInput, said
from fallwork.planning.revealed import Beside
from fallwork.scenario import CourseData, Lab, Term, with_numbers
from fallwork.scenario.dates import first_moment
from fallwork.scenario.numbers import quantities_of
from fallwork.scenario.report import Report, listed, meant
from fallwork.scenario.term import read_term
from fallwork.scenario.tree import read_file

Texts = Mapping[str, str]  # path -> the number as a file gives it
_YEAR = re.compile("20[0-9]{2}")
_WEEKS = {"winter": 1, "spring": 9, "summer": 22, "autumn": 36, "fall": 36}  # when terms begin
_IN_A_YEAR = 365.2425 / 7
_FOR_EDITORS = "# yaml-language-server:"  # names the schema, in the first line


def other_words(term: str, terms: Sequence[str]) -> Iterator[str]:
    """A doubt about each word of a term's id that no other term has, such as ``sprng``."""
    known = {word for each in terms for word in re.findall("[a-z]+", each)}
    for word in re.findall("[a-z]+", term) if known else ():
        if word not in known:
            words = sorted(known)
            hint = meant(word, words, said("commands", "term-words", words=listed(words)))
            yield said("commands", "other-word", term=term, word=word, hint=hint)


@dataclass(frozen=True)
class Shift:
    """Makes dates of an earlier term those of another: whole weeks later, without holidays."""

    weeks: int
    holidays: Sequence[datetime] = ()  # a day of each week that has no labs
    moved: Sequence[tuple[datetime, datetime]] = ()  # then and now, of labs that both terms have

    def __call__(self, at: datetime) -> str:
        """As a file gives it: moved as the nearest date was, if any. What would be in a week
        without labs, or later, is a week later.
        """
        near = min(self.moved, key=lambda pair: abs(pair[0] - at), default=None)
        later = at + timedelta(weeks=_weeks(*near) if near else self.weeks)
        for monday in sorted({*map(_monday, self.holidays)}):
            later += timedelta(weeks=later.date() >= monday)
        assert isinstance(at.tzinfo, ZoneInfo)
        midnight = later == first_moment(later.date(), at.tzinfo)
        return f"{later:%Y-%m-%d}" if midnight else f"{later:%Y-%m-%dT%H:%M}"


def _monday(day: datetime) -> date:
    return day.date() - timedelta(days=day.weekday())


def _weeks(then: datetime, now: datetime) -> int:
    return round((now - then) / timedelta(weeks=1))


def shift_between(
    former: Term,
    term: str,
    first_day: datetime | None,
    holidays: Sequence[datetime],
    own: Sequence[Lab],
) -> Shift:
    """From a term to another: the first week with labs is that of the first day; if that isn't
    said, as the term's ``own`` labs were moved, else by year and season of the ids, a year if they
    don't say it.
    """
    before = {lab.id: lab for lab in former.labs}
    moved = [
        (getattr(before[lab.id], key), getattr(lab, key))
        for lab in own
        if lab.id in before
        for key in ("opens", "due", "solution_opens")
    ]
    if moved and not first_day:
        return Shift(_weeks(*min(moved)), moved=moved)
    if first_day:
        opens = min(lab.opens_first for lab in former.labs)
        return Shift((_monday(first_day) - _monday(opens)).days // 7, holidays)
    begins = []
    for name in (former.id, term):
        season = next((weeks for word, weeks in _WEEKS.items() if word in name), 0)
        begins += [int(year) * _IN_A_YEAR + season for year in _YEAR.findall(name)[:1]]
    return Shift(round(begins[1] - begins[0] if len(begins) == 2 else _IN_A_YEAR), holidays)


class Seat:
    """A lab's place in a term: what ``check`` would say of it there, with whatever numbers."""

    def __init__(self, data: CourseData, term: str, name: str) -> None:
        self.data = data
        (self.term,) = (each for each in data.terms if each.id == term)
        (self.lab,) = (each for each in self.term.labs if each.id == name)
        self.beside = Beside(data, term, self.lab)

    def of(self, lab: Lab) -> Iterator[list[str]]:
        """Of the lab as it is given first what pages show of it, or it of others; then all else."""
        yield [*map(str, self.beside.revealed(lab))]
        yield [words for _, words in on_lab(self.term, lab, self.data)]

    def says(self, numbers: Texts, example: Texts) -> Iterator[list[str]]:
        """The same with these numbers."""
        try:
            variant = with_numbers(self.lab.scenario, numbers)
            given = replace(self.lab, variant=variant, example=with_numbers(variant, example))
        except BadInput as error:
            yield from ([], [f"{each.found}; {each.expected}" for each in error.problems])
        else:
            yield from self.of(given)


class Book:
    """A term's file with what is to be put into it, and the course as it is with that."""

    def __init__(self, data: CourseData, term: str, shift: Shift) -> None:
        self.data, self.term, self.shift = data, term, shift
        self.path = data.root / "terms" / f"{term}.yaml"
        own = [each.title for each in data.terms if each.id == term]
        self.title = own[0] if own else " ".join(reversed(term.split("-"))).capitalize()
        files = (each.read_text("utf-8") for each in sorted(self.path.parent.glob("*.yaml")))
        heads = ("".join(t.partition("\n")[:2]) for t in files if t.startswith(_FOR_EDITORS))
        self.text = f"{next(heads, '')}term: {self.title}\nlabs:\n"
        if self.path.exists():
            self.text = self.path.read_bytes().decode()

    def write(self) -> None:
        """Put the file in its place, whole."""
        aside = self.path.with_name(f".{self.path.name}.new")
        aside.write_text(self.text, "utf-8", newline="")
        aside.replace(self.path)

    @property
    def labs(self) -> list[Lab]:
        """Those of the term."""
        return [lab for each in self.data.terms if each.id == self.term for lab in each.labs]

    def block(
        self, lab: Lab, numbers: Texts, example: Texts, variants: Mapping[str, Texts] | None = None
    ) -> list[str]:
        """The lines of a term's file, from the lab's id on."""
        taken = {each.title for each in self.labs}
        date = self.shift
        own = {path: f"{q.number} {q.unit}" for path, q in quantities_of(lab.scenario)}
        titles = (f"{lab.title}{f' ({n})' if n > 1 else ''}" for n in counted_from(1))
        title = next(title for title in titles if title not in taken)
        given: dict[str, Any] = {"title": title} if title != lab.scenario.title else {}
        given |= {"scenario": lab.scenario.id} if lab.scenario.id != lab.id else {}

        def changed(by: Texts, of: Texts) -> dict[str, str]:
            return {path: text for path, text in by.items() if text != of[path]}

        given |= {"numbers": changed(numbers, own), "example": changed(example, numbers) or "auto"}
        others = {name: changed(each, numbers) for name, each in (variants or {}).items()}
        given |= {"variants": others} if others else {}
        given |= {key: date(getattr(lab, key)) for key in ("opens", "due", "solution_opens")}
        sections = {
            id_: ({"title": section.title} if section.title != id_ else {})
            | {"opens": date(section.opens), "due": date(section.due)}
            for id_, section in lab.sections.items()
        }
        given |= {"sections": sections} if sections else {}
        form: dict[str, Any] = {"allow_unicode": True, "width": 1000, "default_flow_style": None}
        text: str = yaml.safe_dump({lab.id: given}, sort_keys=False, **form)
        # Dates and numbers stand as people write them.
        lines = re.sub("'([0-9T:.-]+)'", r"\1", text).splitlines()
        left = {"variants": lab.variants and not variants, "recordings": lab.recordings}
        if what := listed([name for name, each in left.items() if each]):
            lines.insert(1, f"  # {said('commands', 'left-behind', what=what)}")
        if lab.data_opens:
            groups = ((i, s.data_opens) for i, s in lab.sections.items())
            more = (f", {i} {date(at)}" for i, at in groups if at and at != lab.data_opens)
            dates = f"{date(lab.data_opens)}{''.join(more)}"
            lines.insert(1, f"  # data_opens: {dates}    with measured, once there are trials")
        return lines

    def seat(self, lab: Lab) -> Seat:
        """The place of a lab like this one; if it isn't there yet, with its dates."""
        there = lab.id in {each.id for each in self.labs}
        data = self.data if there else self.with_lab(lab.id, self.block(lab, {}, {}))[1]
        return Seat(data, self.term, lab.id)

    def with_lab(self, name: str, block: Sequence[str]) -> tuple[str, CourseData]:
        """The text with a lab more, and the course as it reads then: the others are as before."""
        text, report = inserted(self.text, block, self.path), Report()
        with TemporaryDirectory() as folder:
            path = Path(folder) / self.path.name
            path.write_text(text, "utf-8", newline="")
            node, zone = read_file(path, report), self.data.course.zone
            assert node is not None
            trials = self.data.root / "trials"
            term = read_term(node, self.term, zone, self.data.scenarios, trials, report)
        report.raise_if_any()
        assert term is not None
        assert [lab for lab in term.labs if lab.id != name] == self.labs
        others = [each for each in self.data.terms if each.id != self.term]
        terms = tuple(sorted([*others, term], key=lambda each: each.id))
        return text, replace(self.data, terms=terms)


def inserted(text: str, block: Sequence[str], path: Path) -> str:
    """The text of a term's file with a lab more, behind its others; all else stays as it is."""
    lines = text.splitlines(keepends=True)
    end = "\r\n" if lines and lines[0].endswith("\r\n") else "\n"
    starts = (at for at, line in enumerate(lines) if re.match(r"labs\s*:\s*(#.*)?$", line))
    if (start := next(starts, None)) is None:
        raise CallError("no-labs", path=path)
    telling = (at for at, line in enumerate(lines) if at > start and re.match(r"\s*[^\s#]", line))
    inside = list(takewhile(lambda at: lines[at][0].isspace(), telling))
    first = lines[inside[0]] if inside else "  "
    indent, last = first[: len(first) - len(first.lstrip())], [start, *inside][-1]
    if not lines[last].endswith("\n"):
        lines[last] += end
    lines[last + 1 : last + 1] = [f"{indent}{each}{end}" for each in block]
    return "".join(lines)
