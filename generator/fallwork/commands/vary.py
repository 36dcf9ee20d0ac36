"""Proposes new numbers for a lab, or for all labs of a term, out of what the inventory can build.

Takes what was typed; gives lines of text: the proposal, why it, what excludes the others, and what
goes into the term's file; with ``--write`` it is put there.
"""

import csv
from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import datetime
from functools import partial
from hashlib import sha256
from pathlib import Path

import numpy as np

from fallwork.commands.call import CallError, called, columns, course_folder
from fallwork.commands.newterm import Book, Follow, names, other_words, shift_between
from fallwork.errors import FallworkError, said, table
from fallwork.figures.candidates import candidates
from fallwork.figures.scene import say
from fallwork.lesson.answers import answers_of, tolerance
from fallwork.lesson.reviewing import rows
from fallwork.measurement.prediction import Case, view_of
from fallwork.pages.worked import gravity_estimate, reviewed
from fallwork.planning.choosing import NEW, Field, Pick, Task, looked_at, picked
from fallwork.planning.results import NoExampleError, example_in
from fallwork.scenario import CourseData, Lab, Scenario, Term, load_course, with_numbers
from fallwork.scenario.nouns import term_id
from fallwork.scenario.report import Refusal, listed

_said = partial(said, "commands")


@dataclass(frozen=True)
class _Asked:
    """What is wanted of each lab."""

    count: int  # of variants
    without: Sequence[str]
    plot: Path | None
    write: bool
    students: Path | None  # the file of these
    ids: Sequence[str]
    brief: bool  # a whole term: without the reasons

    def handed_out(self, term: str, lab: Lab, seed: int, variants: Sequence[Pick]) -> Iterator[str]:
        """Who has which, in a private file beside theirs; by lot, so that no order tells it."""
        assert self.students is not None
        path = self.students.with_name(f"{self.students.stem}-{term}-{lab.id}.csv")
        drawn = np.random.default_rng(seed).permutation(len(variants)).tolist()
        named = [*zip(names(len(variants)), variants, strict=True)]
        rows = [
            (who, named[at][0], *named[at][1].numbers.values())
            for who, at in zip(self.ids, drawn, strict=True)
        ]
        if self.write:
            with path.open("w", encoding="utf-8", newline="") as file:
                csv.writer(file).writerows([("id", "variant", *variants[0].numbers), *rows])
            yield _said("handed-out", path=path)


def _ids(path: Path, root: Path, count: int | None) -> list[str]:
    """The first column, below its head, of a file that is in no folder of the course or of a site
    beside it, so that no page can show it.
    """
    if count:
        raise CallError("count-of-ids")
    file, beside = path.resolve(), root.resolve().parent
    if file.parent != beside and file.is_relative_to(beside):
        raise CallError("ids-in-course", path=path)
    try:
        lines = path.read_text("utf-8-sig").splitlines()
    except UnicodeDecodeError as error:
        raise CallError("ids-not-utf-8", path=path) from error
    mark = next((mark for mark in "\t;," if mark in (lines or [""])[0]), ",")
    head, *found = [row[0].strip() for row in csv.reader(lines, delimiter=mark) if row] or [""]
    if head.lower() != "id":
        raise CallError("no-ids-head", path=path)
    if not any(found):
        raise CallError("no-ids", path=path)
    return list(dict.fromkeys(filter(None, found)))


def varied(
    scenario: str | None,
    *,
    term: str,
    after: str | None,
    first_day: datetime | None,
    holiday: Sequence[datetime],
    count: int | None,
    students: Path | None,
    without: Sequence[str],
    plot: Path | None,
    write: bool,
) -> Iterator[str]:
    """The proposals, lab by lab; at last what can't be proposed."""
    _check_id(term)
    data = load_course(course_folder(), record=False)
    if data.inventory is None:
        raise CallError("no-inventory", root=data.root)
    for name in without:
        called("condition", name, table("planning", "conditions"))
    former, labs = _pattern(data, scenario, term, after)
    first = first_day.date() if first_day else None
    own = [lab for each in data.terms if each.id == term for lab in each.labs]
    days = [day.date() for day in holiday]
    book = Book(data, term, shift_between(former, term, first, days, own))
    yield from other_words(term, [each.id for each in data.terms if each.id != term])
    ids = _ids(students, data.root, count) if students else ()
    brief = scenario is None
    asked = _Asked(len(ids) or count or 0, without, plot, write, students, ids, brief)
    wrong, before = list[str](), book.text
    for lab in labs:
        try:
            for at, line in enumerate(_of_lab(book, lab, asked)):
                yield line if at else f"{lab.id}, {book.title}: {line}"
        except FallworkError as error:
            wrong.append(f"{lab.id}: {error}")
    if book.text != before:
        if brief and not write:
            yield _said("reasons", term=term)
        how = "dates-followed" if isinstance(book.shift, Follow) else "dates-shifted"
        yield _said(how, former=former.id, weeks=book.shift.weeks, first=book.first, term=term)
        yield _said("term-written" if write else "nothing-written", path=book.path)
        if write:
            book.write()
    if wrong:
        raise FallworkError("\n".join(wrong))


def _check_id(term: str) -> None:
    try:
        term_id(term, "the term")
    except Refusal as error:
        raise FallworkError(str(error)) from error


def _pattern(
    data: CourseData, scenario: str | None, term: str, after: str | None
) -> tuple[Term, Sequence[Lab]]:
    """The term whose dates and sections are taken over, and of its labs all, or the last of this id
    or scenario; else, with the scenario's own numbers, one like the last one of all.
    """
    terms = {each.id: each for each in data.terms if each.labs and each.id != term}
    by_date = sorted(terms.values(), key=lambda each: each.labs[0].opens)
    if scenario is None:
        former = called("term", after or (by_date[-1].id if by_date else ""), terms)
        return former, former.labs
    labs = [(each, lab) for each in by_date for lab in each.labs if after in (None, each.id)]
    labs.sort(key=lambda pair: pair[1].opens)
    same = [(each, [lab]) for each, lab in labs if lab.scenario.id == scenario]
    if found := [(each, [lab]) for each, lab in labs if lab.id == scenario] or same:
        return found[-1]
    own = called("scenario", scenario, data.scenarios)
    if not labs:
        raise CallError("no-dates")
    former, last = labs[-1]
    fresh = replace(last, id=scenario, title=own.title, scenario=own, variant=own, sections={})
    return former, [fresh]


def _of_lab(book: Book, lab: Lab, asked: _Asked) -> Iterator[str]:
    if lab.id in {each.id for each in book.labs}:
        raise CallError("lab-there", path=book.path, name=lab.id)
    task, count = _task(book, lab, asked.without), 1 + asked.count
    for others in ((), (NEW,)):  # where no answers are left that no earlier term had, some of those
        looked = looked_at(replace(task, without=(*asked.without, *others)))
        yield _said("sets", tried=f"{looked.tried:,}", kept=f"{looked.kept.sum():,}")
        picks = picked(looked, count, lambda *of: book.tried(lab.id, book.block(lab, *of)))
        if len(picks) == count or not looked.excluded.get(NEW, (0, 0))[1]:
            break
        yield _said("no-new-answers")
    enough = picks and (len(picks) == count or not asked.ids)  # nobody goes without
    for first, *variants in [picks] if enough else []:
        pieces = looked.alike.built(first.at)
        yield from columns([(p, text, pieces.get(p, "")) for p, text in first.numbers.items()])
        yield from () if asked.brief else _why(book, looked, first)
        lines = book.block(lab, first.numbers, first.example, [each.numbers for each in variants])
        yield from ("", *(f"  {line}" for line in lines))
        words = book.tried(lab.id, lines) if variants else first.words
        yield from (f"  note: {each}" for each in words)
        book.text, book.data = book.with_lab(lab.id, lines)
        if asked.ids:
            yield from asked.handed_out(book.term, lab, task.seed, variants)
    if not (asked.brief and enough):
        yield _said("excluded")
        what = {
            "run": table("planning", "conditions")["run"]["what"]
        }  # the only one not told above
        told = ((name, a, b, what.get(name, "")) for name, (a, b) in looked.excluded.items() if a)
        yield from columns([(name, f"{a:,}", f"({b:,})", words) for name, a, b, words in told], 4)
    if asked.plot:
        asked.plot.write_text(_drawn(looked, picks, f"{lab.id}, {book.title}"), "utf-8")
        yield f"  {asked.plot}: drawn"
    if len(picks) < count:
        raise FallworkError(_nothing(looked, len(picks)))


def _why(book: Book, looked: Field, pick: Pick) -> Iterator[str]:
    """Each condition by its name with what the numbers come to."""
    variant, gravity = (
        with_numbers(looked.task.case.scenario, pick.numbers),
        looked.task.case.gravity,
    )
    findings = (*reviewed([variant], gravity, book.data)[0], *looked.newness(pick.at))
    told = zip(findings, rows(findings, variant.nouns), strict=True)
    yield from ("  why", *columns([(each.aspect, *cells[:3]) for each, cells in told], 4))


def _task(book: Book, lab: Lab, without: Sequence[str]) -> Task:
    data, gravity = book.data, gravity_estimate(book.data.course)
    figures, earlier = data.course.significant_figures, list[Scenario]()
    for id_, each in ((term.id, each) for term in data.terms for each in term.labs):
        if each.scenario.id == lab.scenario.id:
            earlier += each.every_variant
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
    scenario = looked.task.case.scenario
    nouns, moving = scenario.nouns, view_of(scenario).moving
    parts = [(*key.split("."), moving)[:2] for key in pair]
    level, upright = (say(f"candidates-{kind}", it=nouns.the(it)) for kind, it in parts)
    points = np.column_stack([np.broadcast_to(rights[key], len(looked.alike)) for key in pair])
    dots = {"built": points, "good": points[looked.kept]}
    if all(key in looked.before for key in pair):
        dots["earlier"] = np.column_stack([looked.before[key] for key in pair])
    dots["proposed"] = points[[pick.at for pick in picks]]
    told = {key: [(float(x), float(y)) for x, y in each] for key, each in dots.items() if len(each)}
    return candidates(title, (level, upright), told)
