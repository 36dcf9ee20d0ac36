"""Proposes new numbers for a lab, or for all labs of a term, out of what the inventory can build;
or judges a lab's numbers as it would its own.

Takes what was typed; gives lines of text: the proposal, why it, what excludes the others, and what
goes into the term's file; with ``--write`` it is put there.
"""

import csv
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from functools import partial
from hashlib import sha256
from itertools import chain
from pathlib import Path
from typing import Any

import numpy as np

from fallwork.commands.call import CallError, called, columns, course_folder
from fallwork.commands.newterm import Book, Seat, other_words, shift_between
from fallwork.commands.reasons import drawn, excluded, to_relax, why
from fallwork.errors import FallworkError, said, table
from fallwork.lesson.answers import answers_of, tolerance
from fallwork.measurement.prediction import Case
from fallwork.pages.worked import gravity_estimate
from fallwork.planning.buildable import NotOwnedError
from fallwork.planning.choosing import NEW, Field, Task, looked_at
from fallwork.planning.driven import columns as values_of
from fallwork.planning.picking import CLEAR, Pick, picked
from fallwork.scenario import CourseData, Lab, Scenario, Term, as_written, load_course, with_numbers
from fallwork.scenario.nouns import term_id
from fallwork.scenario.numbers import overrides_from_words, quantities_of

_said = partial(said, "commands")


@dataclass(frozen=True)
class _Asked:
    """What is wanted of each lab."""

    count: int  # of variants
    ids: Sequence[str]  # of students
    brief: bool  # a whole term: without the reasons
    students: Path | None  # the file of the ids
    rank: int  # of the proposal
    numbers: Sequence[str]  # to judge in place of one
    without: Sequence[str]
    plot: Path | None
    write: bool

    @property
    def proposes(self) -> bool:
        """Whether judging numbers that are there can't be meant."""
        return self.write or self.count > 0 or self.rank > 1


def varied(
    scenario: str | None,
    *,
    term: str,
    after: str | None,
    first_day: datetime | None,
    holiday: Sequence[datetime],
    count: int | None,
    students: Path | None,
    **more: Any,
) -> Iterator[str]:
    """The proposals, lab by lab; at last what can't be proposed."""
    term_id(term, "the term")
    data = load_course(course_folder(), record=False)
    ids = _ids(students, data.root, count) if students else ()
    asked = _Asked(len(ids) or count or 0, ids, scenario is None, students, **more)
    if asked.numbers and (asked.proposes or asked.brief):
        raise CallError("set-judges")
    if data.inventory is None:
        raise CallError("no-inventory", root=data.root)
    for name in asked.without:
        called("condition", name, table("planning", "conditions"))
    former, labs = _pattern(data, scenario, term, after)
    own = [lab for each in data.terms if each.id == term for lab in each.labs]
    book = Book(data, term, shift_between(former, term, first_day, holiday, own))
    yield from other_words(term, [each.id for each in data.terms])
    wrong, before = list[str](), book.text
    for lab in labs:
        try:
            for at, line in enumerate(_of_lab(book, lab, asked)):
                yield line if at else f"{lab.id}, {book.title}: {line}"
        except FallworkError as error:
            wrong.append(f"{lab.id}: {error}")
    if book.text != before:
        yield from _finished(book, former.id, asked)
    if wrong:
        raise FallworkError("\n".join(wrong))


def _finished(book: Book, former: str, asked: _Asked) -> Iterator[str]:
    if asked.brief:
        yield _said("reasons", term=book.term)
    first, shift = min(lab.opens_first for lab in book.labs), book.shift
    how = "dates-followed" if shift.moved else "dates-shifted"
    yield _said(how, former=former, weeks=shift.weeks, first=first, term=book.term)
    yield _said("term-written" if asked.write else "nothing-written", path=book.path)
    if asked.write:
        book.write()


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
    labs.sort(key=lambda e: (e[1].id == scenario, e[1].scenario.id == scenario, e[1].opens))
    if labs and scenario in (labs[-1][1].id, labs[-1][1].scenario.id):
        return labs[-1][0], [labs[-1][1]]
    own = called("scenario", scenario, data.scenarios)
    if not labs:
        raise CallError("no-dates")
    former, last = labs[-1]
    fresh = replace(last, id=scenario, title=own.title, scenario=own, variant=own, sections={})
    return former, [fresh]


def _of_lab(book: Book, lab: Lab, asked: _Asked) -> Iterator[str]:
    there = lab.id in {each.id for each in book.labs}
    if there and (asked.proposes or asked.brief):
        raise CallError("lab-there", path=book.path, name=lab.id)
    seat = book.seat(lab)
    task = _task(book, lab, seat, asked.without)
    if there or asked.numbers:
        yield from _judged(book.data, seat, task, asked)
        return
    count = asked.rank + asked.count
    for others in ((), (NEW,)):  # where no answers are left that no earlier term had, some of those
        looked = looked_at(replace(task, without=(*asked.without, *others)))
        yield _said("sets", tried=f"{looked.tried:,}", kept=f"{looked.kept.sum():,}")
        picks = picked(looked, count, seat.says)
        if len(picks) == count or not looked.excluded.get(NEW, (0, 0))[1]:
            break
        yield _said("no-new-answers")
    enough = len(picks) >= asked.rank and (len(picks) == count or not asked.ids)  # for everybody
    sets = [with_numbers(lab.scenario, pick.numbers) for pick in picks[asked.rank - 1 :]]
    if enough:
        yield from _proposed(book, lab, seat, looked, picks[asked.rank - 1 :], asked)
    yield from () if asked.brief and enough else excluded(looked)
    yield from _plotted(looked, sets, f"{lab.id}, {book.title}", asked)
    if len(picks) < count:
        raise FallworkError(to_relax(looked, len(picks)))


def _proposed(
    book: Book, lab: Lab, seat: Seat, looked: Field, picks: Sequence[Pick], asked: _Asked
) -> Iterator[str]:
    first, *more = picks
    pieces = looked.alike.built(first.at)
    yield from columns([(p, text, pieces.get(p, "")) for p, text in first.numbers.items()])
    if not asked.brief:
        yield from why(looked, with_numbers(lab.scenario, first.numbers), book.data)
    digits = len(str(len(more)))
    variants = {f"set-{n:0{digits}}": each.numbers for n, each in enumerate(more, 1)}
    lines = book.block(lab, first.numbers, first.example, variants)
    yield from ("", *(f"  {line}" for line in lines))
    book.text, book.data = book.with_lab(lab.id, lines)
    words = chain(*seat.of(book.labs[-1])) if variants else first.words
    yield from (f"  note: {each}" for each in words)
    if first.off < CLEAR:
        yield _said("example-near", off=f"{100 * first.off:.1f}")
    if asked.students:
        path = asked.students.with_name(f"{asked.students.stem}-{book.term}-{lab.id}.csv")
        if asked.write:
            _hand_out(path, asked.ids, variants, looked.task.seed)
        yield _said("handed-out", path=path)


def _plotted(looked: Field, chosen: Sequence[Scenario], title: str, asked: _Asked) -> Iterator[str]:
    if asked.plot:
        asked.plot.write_text(drawn(looked, chosen, title), "utf-8")
        yield f"  {asked.plot}: drawn"


def _judged(data: CourseData, seat: Seat, task: Task, asked: _Asked) -> Iterator[str]:
    """What there is to say of numbers that others have chosen: the lab's and its variants', or with
    some as they were typed.
    """
    looked = looked_at(task)
    yield _said("judged", kept=f"{looked.kept.sum():,}")
    variant = with_numbers(seat.lab.variant, overrides_from_words(asked.numbers))
    variants = {} if asked.numbers else seat.lab.variants
    for name, each in {"": variant, **variants}.items():
        yield from [_said("variant-head", name=name)] if name else ()
        near, own = looked.alike.nearest(values_of(each)), dict(quantities_of(each))
        texts, pieces = near.texts(0), near.built(0)
        yield from columns([(p, as_written(own[p]), t, pieces[p]) for p, t in texts.items()])
        yield from why(looked, each, data)
        if not near.fit(task.owned)[0]:
            yield f"  note: {NotOwnedError(task.case.scenario.title, task.owned.benches)}"
    told = seat.of(replace(seat.lab, variant=variant, variants=variants))
    yield from (f"  note: {words}" for words in chain(*told))
    yield from excluded(looked)
    yield from _plotted(looked, [variant, *variants.values()], seat.lab.id, asked)


def _task(book: Book, lab: Lab, seat: Seat, without: Sequence[str]) -> Task:
    data, gravity = book.data, gravity_estimate(book.data.course)
    figures, words = data.course.significant_figures, (data.course.title, book.term, lab.id)
    assert data.inventory is not None
    return Task(
        case=Case(scenario=lab.scenario, gravity=gravity),
        owned=data.inventory,
        answers=answers_of(lab.scenario, gravity.value, figures),
        earlier=seat.beside.scenarios,
        safety=data.course.safety,
        tolerance=tolerance(figures),
        seed=int.from_bytes(sha256("\n".join(words).encode()).digest()[:8], "big"),
        without=without,
    )


# ---- variants for students: whose they are is in a file beside theirs, and in no page


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


def _hand_out(
    path: Path, ids: Sequence[str], variants: Mapping[str, Mapping[str, str]], seed: int
) -> None:
    """Write who has which; by lot, so that no order tells it."""
    named = [*variants.items()]
    drawn = np.random.default_rng(seed).permutation(len(named)).tolist()
    rows = [(who, named[at][0], *named[at][1].values()) for who, at in zip(ids, drawn, strict=True)]
    with path.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows([("id", "variant", *named[0][1]), *rows])
