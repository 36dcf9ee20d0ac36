"""Proposes new numbers for a lab, or for all labs of a term, out of what the inventory can build.

Takes what was typed; gives lines of text: the proposal, why it, what excludes the others, and what
goes into the term's file; with ``--write`` it is put there.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from functools import cached_property, partial
from itertools import count as counted_from
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

from fallwork.commands.call import CallError, called, columns, course_folder
from fallwork.commands.notes import on_lab
from fallwork.errors import BadInput, FallworkError, said, table
from fallwork.figures.candidates import candidates
from fallwork.lesson.answers import tolerance
from fallwork.lesson.many import answers_of
from fallwork.lesson.reviewing import rows
from fallwork.measurement.prediction import Case
from fallwork.pages.worked import gravity_estimate, reviewed
from fallwork.planning.choosing import Field, Pick, Task, looked_at, picked, seed_of
from fallwork.planning.results import NoExampleError, example_in
from fallwork.planning.revealed import revealed
from fallwork.scenario import CourseData, Lab, Scenario, Term, load_course, with_numbers
from fallwork.scenario.dates import first_moment
from fallwork.scenario.numbers import quantities_of
from fallwork.scenario.report import Report, listed
from fallwork.scenario.term import read_term
from fallwork.scenario.tree import read_file

_said = partial(said, "commands")
_YEAR = re.compile("20[0-9]{2}")
_WEEKS = {"winter": 1, "spring": 9, "summer": 22, "autumn": 36, "fall": 36}  # when terms begin
_IN_A_YEAR = 365.2425 / 7
_HEAD = "# yaml-language-server: $schema=../generator/fallwork/scenario/schema/term.schema.json"


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
    data = load_course(course_folder(), record=False)
    if data.inventory is None:
        raise CallError("no-inventory", root=data.root)
    for name in without:
        called("condition", name, table("planning", "conditions"))
    book = _Book.of(data, term)
    if scenario is None:
        pattern = called("term", after or "", {each.id: each for each in data.terms})
        wanted = [(lab, pattern.id) for lab in pattern.labs]
    else:
        wanted = [_pattern(data, scenario, term, after)]
    for lab, former in wanted:
        for at, line in enumerate(_of_lab(book, lab, former, count, without, plot)):
            yield line if at else f"{lab.id}, {book.title}: {line}"
    if write:
        book.save()
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
    data, own = book.data, lab.scenario
    figures, gravity = data.course.significant_figures, gravity_estimate(data.course)
    assert data.inventory is not None
    task = Task(
        case=Case(scenario=own, gravity=gravity),
        owned=data.inventory,
        answers=answers_of(own, gravity.value, figures),
        earlier=[*_earlier(data, own)],
        safety=data.course.safety,
        tolerance=tolerance(figures),
        seed=seed_of(data.course.title, book.term, lab.id),
        without=without,
    )
    looked = looked_at(task)
    kept = int(looked.kept.sum())
    yield f"{looked.tried:,} sets of numbers can be built, {kept:,} are good"
    names = [lab.id, *(f"{lab.id}-{n}" for n in range(2, count + 1))]
    weeks = _weeks(former, book.term)

    def block(name: str, numbers: Mapping[str, str], example: Mapping[str, str]) -> list[str]:
        given = dict(quantities_of(own))
        same = [p for p, text in numbers.items() if text == f"{given[p].number} {given[p].unit}"]
        other = {path: text for path, text in example.items() if text != numbers[path]}
        told = {path: text for path, text in numbers.items() if path not in same}
        return [*_block(lab, name, book.title_for(lab), told, other, weeks)]

    def told(numbers: Mapping[str, str], example: Mapping[str, str]) -> Sequence[str]:
        return book.tried(names[0], block(names[0], numbers, example))

    picks = picked(looked, count, told) if kept else []
    for name, pick in zip(names, picks, strict=False):
        yield from _proposal(book, own, looked, pick)
        lines = block(name, pick.numbers, pick.example)
        yield from ("", *(f"  {line}" for line in lines))
        yield from (f"  note: {words}" for words in pick.words)
        book.add(name, lines)
    yield from _excluded(looked)
    if plot:
        plot.write_text(_drawn(looked, picks, f"{lab.id}, {book.title}"), "utf-8")
        yield f"  {plot}: drawn"
    if len(picks) < count:
        raise FallworkError(_nothing(looked, len(picks)))


def _earlier(data: CourseData, own: Scenario) -> Iterator[Scenario]:
    """The numbers of all labs of a set-up, and of their examples."""
    for term in data.terms:
        for lab in term.labs:
            if lab.scenario.id == own.id:
                yield lab.variant
                with suppress(NoExampleError):
                    yield example_in(data, term.id, lab)


def _proposal(book: "_Book", own: Scenario, looked: Field, pick: Pick) -> Iterator[str]:
    pieces = looked.alike.built(pick.at)
    yield from columns([(path, text, pieces.get(path, "")) for path, text in pick.numbers.items()])
    variant = with_numbers(own, pick.numbers)
    findings = reviewed(variant, gravity_estimate(book.data.course), book.data)
    yield "  why"
    yield from columns([cells[:3] for cells in rows(findings, own.nouns)], 4)


def _excluded(looked: Field) -> Iterator[str]:
    yield "  excluded by (by nothing else)"
    found = [(n, f"{a:,}", f"({b:,})") for n, (a, b) in looked.excluded.items() if a]
    yield from columns(found, 4)


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
    return _said(
        "nothing-near",
        names=listed(looked.nearest),
        options=" ".join(f"--without {n}" for n in looked.nearest),
    )


def _drawn(looked: Field, picks: Sequence[Pick], title: str) -> str:
    """All by acceleration and tension; where nothing moves, by normal force and tension."""
    rights = looked.task.answers(looked.alike.values).rights
    pair = []
    for stems in (("acceleration", "normal"), ("tension",)):
        found = [key for stem in stems for key in rights if key.partition(".")[0] == stem]
        pair.append(found[0])
    units = ["m/s²" if key.startswith("acceleration") else "N" for key in pair]
    level, upright = (f"{k.replace('.', ' ')} ({u})" for k, u in zip(pair, units, strict=True))
    points = np.column_stack([np.broadcast_to(rights[key], len(looked.alike)) for key in pair])
    before = [looked.before[key] for key in pair if key in looked.before]
    dots = {
        "built": points[~looked.kept],
        "good": points[looked.kept],
        "earlier": np.column_stack(before) if len(before) == 2 else np.zeros((0, 2)),
        "proposed": points[[pick.at for pick in picks]],
    }
    told = {key: [(float(x), float(y)) for x, y in each] for key, each in dots.items() if len(each)}
    return candidates(title, (level, upright), told)


# ---- dates


def _weeks(former: str, term: str) -> int:
    """Whole weeks from a term to another, by year and season of their ids; a year if they don't
    say.
    """

    def when(name: str) -> float | None:
        year = _YEAR.search(name)
        season = next((weeks for word, weeks in _WEEKS.items() if word in name), 0)
        return int(year[0]) * _IN_A_YEAR + season if year else None

    one, other = when(former), when(term)
    return round(_IN_A_YEAR if one is None or other is None else other - one)


def _block(
    lab: Lab,
    name: str,
    title: str,
    numbers: Mapping[str, str],
    example: Mapping[str, str],
    weeks: int,
) -> Iterator[str]:
    """The lines of a term's file, from the lab's id on."""

    def date(at: datetime) -> str:
        later = at + timedelta(weeks=weeks)
        midnight = later == first_moment(later.date(), at.tzinfo)  # type: ignore[arg-type]
        return f"{later:%Y-%m-%d}" if midnight else f"{later:%Y-%m-%dT%H:%M}"

    def braces(given: Mapping[str, str]) -> str:
        return f"{{{', '.join(f'{key}: {value}' for key, value in given.items())}}}"

    yield f"{name}:"
    if title != lab.scenario.title:
        yield f"  title: {_quoted(title)}"
    if lab.scenario.id != name:
        yield f"  scenario: {lab.scenario.id}"
    yield f"  numbers: {braces(numbers)}"
    yield f"  example: {braces(example)}"
    for key in ("opens", "due", "solution_opens"):
        yield f"  {key}: {date(getattr(lab, key))}"
    if lab.data_opens:
        yield f"  # data_opens: {date(lab.data_opens)}    when there are trials: measured"
    if lab.sections:
        yield "  sections:"
    for id_, section in lab.sections.items():
        given = {"title": _quoted(section.title)} if section.title != id_ else {}
        given |= {"opens": date(section.opens), "due": date(section.due)}
        yield f"    {id_}: {braces(given)}"


def _quoted(text: str) -> str:
    plain = re.fullmatch(r"[A-Za-z][\w ()’.-]*", text)
    return text if plain else '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


# ---- the term's file


@dataclass
class _Book:
    """A term's file with what is to be put into it; nothing is written before ``save``."""

    data: CourseData  # with what was added
    term: str
    path: Path
    before: str  # "" where there is no such file

    @classmethod
    def of(cls, data: CourseData, term: str) -> "_Book":
        """The file of a term, or one to be made."""
        path = data.root / "terms" / f"{term}.yaml"
        before = path.read_text("utf-8") if path.exists() else ""
        return cls(data, term, path, before)

    def __post_init__(self) -> None:
        self.text = self.before or f"{_HEAD}\nterm: {self.title}\nlabs:\n"

    @cached_property
    def title(self) -> str:
        """The term's own, or one made of its id."""
        own = [each.title for each in self.data.terms if each.id == self.term]
        return own[0] if own else " ".join(reversed(self.term.split("-"))).capitalize()

    def title_for(self, lab: Lab) -> str:
        """The lab's own, with a number behind it where another lab of the term has it."""
        taken = {
            each.title for term in self.data.terms if term.id == self.term for each in term.labs
        }
        titles = (f"{lab.title}{f' ({n})' if n > 1 else ''}" for n in counted_from(1))
        return next(title for title in titles if title not in taken)

    def _with(self, name: str, block: Sequence[str]) -> tuple[str, Term]:
        """The text with a lab more, and the term as it reads then."""
        text = inserted(self.text, name, block, self.path)
        with TemporaryDirectory() as folder:
            path, report = Path(folder) / self.path.name, Report()
            path.write_text(text, "utf-8")
            node = read_file(path, report)
            assert node is not None
            zone, trials = self.data.course.zone, self.data.root / "trials"
            found = read_term(node, self.term, zone, self.data.scenarios, trials, report)
        report.raise_if_any()
        assert found is not None
        return text, found

    def _data_with(self, term: Term) -> CourseData:
        others = [each for each in self.data.terms if each.id != self.term]
        terms = tuple(sorted([*others, term], key=lambda each: each.id))
        return replace(self.data, terms=terms)

    def tried(self, name: str, block: Sequence[str]) -> list[str]:
        """All that ``check`` would say of the lab."""
        try:
            _, term = self._with(name, block)
        except BadInput as error:
            return [f"{each.found}; {each.expected}" for each in error.problems]
        data = self._data_with(term)
        (lab,) = (each for each in term.labs if each.id == name)
        before = lab.opens_first - timedelta(days=1)
        words = [words for _, words in on_lab(term, lab, data)]
        return words + [str(each) for each in revealed(data, before, (self.term, name))]

    def add(self, name: str, block: Sequence[str]) -> None:
        """Put a lab into the text, and hold the others to what they were."""
        was = [each for each in self.data.terms if each.id == self.term]
        self.text, term = self._with(name, block)
        assert [lab for lab in term.labs if lab.id != name] == [lab for t in was for lab in t.labs]
        self.data = self._data_with(term)

    def save(self) -> None:
        """Write the file, all of it or nothing."""
        aside = self.path.with_name(f".{self.path.name}.new")
        aside.write_text(self.text, "utf-8", newline="")
        aside.replace(self.path)


def inserted(text: str, name: str, block: Sequence[str], path: Path) -> str:
    """The text of a term's file with a lab more, behind its others; all else stays as it is."""
    lines = text.splitlines(keepends=True)
    end = "\r\n" if lines and lines[0].endswith("\r\n") else "\n"
    start = next(
        (at for at, line in enumerate(lines) if re.match(r"labs\s*:\s*(#.*)?$", line)), None
    )
    if start is None:
        raise CallError("no-labs", path=path)
    if any(re.match(rf"\s+[\"']?{re.escape(name)}[\"']?\s*:", line) for line in lines[start:]):
        raise CallError("lab-there", path=path, name=name)
    last, indent = start, "  "
    for at, line in enumerate(lines[start + 1 :], start + 1):
        if line.strip() and not line.lstrip().startswith("#"):
            if not line[0].isspace():
                break
            indent = re.match(r"\s*", line)[0] if last == start else indent  # type: ignore[index]
            last = at
    if not lines[last].endswith("\n"):
        lines[last] += end
    return "".join(
        [*lines[: last + 1], *(f"{indent}{each}{end}" for each in block), *lines[last + 1 :]]
    )
