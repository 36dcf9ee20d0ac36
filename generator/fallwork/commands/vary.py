"""Proposes new numbers for a lab, or for all labs of a term, out of what the inventory can build.

Takes what was typed; gives lines of text: the proposal, why it, what excludes the others, and what
goes into the term's file; with ``--write`` it is put there.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import replace
from datetime import datetime, timedelta
from functools import partial
from hashlib import sha256
from itertools import count as counted_from
from itertools import takewhile
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import numpy as np
import yaml

from fallwork.commands.call import CallError, called, columns, course_folder
from fallwork.commands.notes import on_lab
from fallwork.errors import BadInput, FallworkError, said, table
from fallwork.figures.candidates import candidates
from fallwork.lesson.answers import tolerance
from fallwork.lesson.many import answers_of
from fallwork.lesson.reviewing import rows
from fallwork.measurement.prediction import Case
from fallwork.pages.worked import gravity_estimate, reviewed
from fallwork.planning.choosing import Field, Pick, Task, looked_at, picked
from fallwork.planning.results import NoExampleError, example_in
from fallwork.planning.revealed import revealed
from fallwork.scenario import CourseData, Lab, Scenario, load_course, with_numbers
from fallwork.scenario.dates import first_moment
from fallwork.scenario.nouns import term_id
from fallwork.scenario.numbers import quantities_of
from fallwork.scenario.report import Refusal, Report, listed
from fallwork.scenario.term import read_term
from fallwork.scenario.tree import read_file

_said = partial(said, "commands")
_YEAR = re.compile("20[0-9]{2}")
_WEEKS = {"winter": 1, "spring": 9, "summer": 22, "autumn": 36, "fall": 36}  # when terms begin
_IN_A_YEAR = 365.2425 / 7
_HEAD = "# yaml-language-server: $schema=../../generator/fallwork/scenario/schema/term.schema.json"


def varied(
    scenario: str | None,
    *,
    term: str,
    after: str | None,
    count: int,
    without: Sequence[str],
    plot: Path | None,
    write: bool,
) -> Iterator[str]:
    """The proposals, lab by lab."""
    try:
        term_id(term, "the term")
    except Refusal as error:
        raise FallworkError(str(error)) from error
    data = load_course(course_folder(), record=False)
    if data.inventory is None:
        raise CallError("no-inventory", root=data.root)
    for name in without:
        called("condition", name, table("planning", "conditions"))
    book = _Book(data, term)
    if scenario is None:
        others = {each.id: each for each in data.terms if each.labs and each.id != term}
        last = max(others, key=lambda name: others[name].labs[0].opens, default="")
        pattern = called("term", after or last, others)
        wanted = [(lab, pattern.id) for lab in pattern.labs]
    else:
        wanted = [_pattern(data, scenario, term, after)]
    for lab, former in wanted:
        for at, line in enumerate(_of_lab(book, lab, former, count, without, plot)):
            yield line if at else f"{lab.id}, {book.title}: {line}"
    if write:
        aside = book.path.with_name(f".{book.path.name}.new")
        aside.write_text(book.text, "utf-8", newline="")
        aside.replace(book.path)
        yield f"{book.path}: written; look at the dates, then fallwork check"
    else:
        yield f"nothing is written; --write puts this into {book.path}"


def _pattern(data: CourseData, scenario: str, term: str, after: str | None) -> tuple[Lab, str]:
    """The lab whose dates and sections are taken over, with its term: the last one of this id or
    scenario, else the last one at all with the scenario's own numbers.
    """
    labs = [(lab, t.id) for t in data.terms for lab in t.labs if after in (None, t.id)]
    labs = sorted((each for each in labs if each[1] != term), key=lambda each: each[0].opens)
    same = [each for each in labs if each[0].scenario.id == scenario]
    if found := [each for each in labs if each[0].id == scenario] or same:
        return found[-1]
    own = called("scenario", scenario, data.scenarios)
    if not labs:
        raise CallError("no-dates")
    last, where = labs[-1]
    fresh = replace(last, id=scenario, title=own.title, scenario=own, variant=own, sections={})
    return fresh, where


def _of_lab(
    book: "_Book", lab: Lab, former: str, count: int, without: Sequence[str], plot: Path | None
) -> Iterator[str]:
    names = [lab.id, *(f"{lab.id}-{n}" for n in range(2, count + 1))]
    for name in names:
        if name in {each.id for each in book.labs}:
            raise CallError("lab-there", path=book.path, name=name)
    looked = looked_at(_task(book, lab, without))
    kept = int(looked.kept.sum())
    yield f"{looked.tried:,} sets of numbers can be built, {kept:,} are good"
    block = partial(_block, book, lab, _weeks(former, book.term))
    picks = picked(looked, count, lambda *of: book.tried(lab.id, block(lab.id, *of)))
    for name, pick in zip(names, picks, strict=False):
        pieces = looked.alike.built(pick.at)
        numbers = [(path, text, pieces.get(path, "")) for path, text in pick.numbers.items()]
        yield from (*columns(numbers), "  why")
        variant = with_numbers(lab.scenario, pick.numbers)
        findings = reviewed(variant, gravity_estimate(book.data.course), book.data)
        yield from columns([cells[:3] for cells in rows(findings, variant.nouns)], 4)
        lines = block(name, pick.numbers, pick.example)
        yield from ("", *(f"  {line}" for line in lines))
        yield from (f"  note: {words}" for words in pick.words)
        book.text, book.data = book.with_lab(name, lines)
    excluded = [(n, f"{a:,}", f"({b:,})") for n, (a, b) in looked.excluded.items() if a]
    yield from ("  excluded by (by nothing else)", *columns(excluded, 4))
    if plot:
        plot.write_text(_drawn(looked, picks, f"{lab.id}, {book.title}"), "utf-8")
        yield f"  {plot}: drawn"
    if len(picks) < count:
        raise FallworkError(_nothing(looked, len(picks)))


def _task(book: "_Book", lab: Lab, without: Sequence[str]) -> Task:
    data, gravity = book.data, gravity_estimate(book.data.course)
    figures, earlier = data.course.significant_figures, list[Scenario]()
    for id_, each in ((term.id, each) for term in data.terms for each in term.labs):
        if each.scenario.id == lab.scenario.id:
            earlier.append(each.variant)
            with suppress(NoExampleError):
                earlier.append(example_in(data, id_, each))
    words = "\n".join((data.course.title, book.term, lab.id))
    assert data.inventory is not None
    return Task(
        case=Case(scenario=lab.scenario, gravity=gravity),
        owned=data.inventory,
        answers=answers_of(lab.scenario, gravity.value, figures),
        earlier=earlier,
        safety=data.course.safety,
        tolerance=tolerance(figures),
        seed=int.from_bytes(sha256(words.encode()).digest()[:8], "big"),
        without=without,
    )


def _nothing(looked: Field, found: int) -> str:
    """What to relax."""
    alone = {name: b for name, (_, b) in looked.excluded.items() if b and name != "run"}
    if found:
        return _said("too-few", found=found)
    if alone:
        most = max(alone, key=lambda name: alone[name])
        return _said("nothing-kept", name=most, count=f"{alone[most]:,}")
    if not len(looked.alike):
        return _said("nothing-alike")
    options = " ".join(f"--without {n}" for n in looked.nearest)
    return _said("nothing-near", names=listed(looked.nearest), options=options)


def _drawn(looked: Field, picks: Sequence[Pick], title: str) -> str:
    """All by acceleration and tension; where nothing moves, by normal force and tension."""
    rights = looked.task.answers(looked.alike.values).rights
    pair = [
        next(key for stem in stems for key in rights if key.partition(".")[0] == stem)
        for stems in (("acceleration", "normal"), ("tension",))
    ]
    units = ["m/s²" if key.startswith("acceleration") else "N" for key in pair]
    level, upright = (f"{k.replace('.', ' ')} ({u})" for k, u in zip(pair, units, strict=True))
    points = np.column_stack([np.broadcast_to(rights[key], len(looked.alike)) for key in pair])
    dots = {"built": points[~looked.kept], "good": points[looked.kept]}
    if all(key in looked.before for key in pair):
        dots["earlier"] = np.column_stack([looked.before[key] for key in pair])
    dots["proposed"] = points[[pick.at for pick in picks]]
    told = {key: [(float(x), float(y)) for x, y in each] for key, each in dots.items() if len(each)}
    return candidates(title, (level, upright), told)


# ---- the term's file


def _weeks(former: str, term: str) -> int:
    """Whole weeks from a term to another, by year and season of their ids; a year if they don't
    say.
    """
    begins = []
    for name in (former, term):
        season = next((weeks for word, weeks in _WEEKS.items() if word in name), 0)
        begins += [int(year) * _IN_A_YEAR + season for year in _YEAR.findall(name)[:1]]
    return round(begins[1] - begins[0] if len(begins) == 2 else _IN_A_YEAR)


def _block(
    book: "_Book",
    lab: Lab,
    weeks: int,
    name: str,
    numbers: Mapping[str, str],
    example: Mapping[str, str],
) -> list[str]:
    """The lines of a term's file, from the lab's id on."""

    def date(at: datetime) -> str:
        later = at + timedelta(weeks=weeks)
        midnight = later == first_moment(later.date(), at.tzinfo)  # type: ignore[arg-type]
        return f"{later:%Y-%m-%d}" if midnight else f"{later:%Y-%m-%dT%H:%M}"

    taken = {each.title for each in book.labs}
    own = {path: f"{q.number} {q.unit}" for path, q in quantities_of(lab.scenario)}
    titles = (f"{lab.title}{f' ({n})' if n > 1 else ''}" for n in counted_from(1))
    title = next(title for title in titles if title not in taken)
    given: dict[str, Any] = {"title": title} if title != lab.scenario.title else {}
    given |= {"scenario": lab.scenario.id} if lab.scenario.id != name else {}
    given["numbers"] = {path: text for path, text in numbers.items() if text != own[path]}
    given["example"] = {path: text for path, text in example.items() if text != numbers[path]}
    given |= {key: date(getattr(lab, key)) for key in ("opens", "due", "solution_opens")}
    sections = {
        id_: ({"title": section.title} if section.title != id_ else {})
        | {"opens": date(section.opens), "due": date(section.due)}
        for id_, section in lab.sections.items()
    }
    given |= {"sections": sections} if sections else {}
    form: dict[str, Any] = {"allow_unicode": True, "width": 1000, "default_flow_style": None}
    text: str = yaml.safe_dump({name: given}, sort_keys=False, **form)
    lines = re.sub("'([0-9T:.-]+)'", r"\1", text).splitlines()  # dates and numbers, as people do
    if lab.data_opens:
        when = "when there are trials: measured"
        lines.insert(1, f"  # data_opens: {date(lab.data_opens)}    {when}")
    return lines


class _Book:
    """A term's file with what is to be put into it, and the course as it is with that."""

    def __init__(self, data: CourseData, term: str) -> None:
        self.data, self.term, self.path = data, term, data.root / "terms" / f"{term}.yaml"
        own = [each.title for each in data.terms if each.id == term]
        self.title = own[0] if own else " ".join(reversed(term.split("-"))).capitalize()
        self.text = f"{_HEAD}\nterm: {self.title}\nlabs:\n"
        if self.path.exists():
            self.text = self.path.read_bytes().decode()

    @property
    def labs(self) -> list[Lab]:
        """Those of the term."""
        return [lab for each in self.data.terms if each.id == self.term for lab in each.labs]

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

    def tried(self, name: str, block: Sequence[str]) -> list[str]:
        """All that ``check`` would say of the lab."""
        try:
            _, data = self.with_lab(name, block)
        except BadInput as error:
            return [f"{each.found}; {each.expected}" for each in error.problems]
        pairs = ((term, lab) for term in data.terms if term.id == self.term for lab in term.labs)
        term, lab = next(pair for pair in pairs if pair[1].id == name)
        before = lab.opens_first - timedelta(days=1)
        words = [words for _, words in on_lab(term, lab, data)]
        return words + [str(each) for each in revealed(data, before, (self.term, name))]


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
