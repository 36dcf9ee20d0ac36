"""Steps written as files: each ``steps/*.md.j2`` is one step, in the order in which it is read.

Takes the name of a file and the lab that it asks; gives the ``Step``, with its check, its common
mistakes and the questions that it answers, or None where the set-up has no such step.
"""

import marshal
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from functools import cache, partial
from pathlib import Path
from typing import Any

from jinja2 import Environment, Template, pass_context
from jinja2.nodes import Call, Const, Extends, FromImport, Import, Include, Macro, Name

from fallwork.errors import BadInput, Place, Problem
from fallwork.lesson.document import (
    Equation,
    FigureSlot,
    Fold,
    Marked,
    Paragraph,
    Question,
    Relation,
    Slip,
    Step,
)
from fallwork.lesson.expression import DEGREES, Expression, Function, Operand, Root, as_expression
from fallwork.lesson.lab.base import Base
from fallwork.lesson.sandbox import MOST, Sandbox
from fallwork.lesson.sheet import AbsentError, Sheet
from fallwork.lesson.trees import half, half_of, over, product, scaled, total
from fallwork.lesson.words import count_word, language, placed, times_word
from fallwork.once import digest, keep, kept
from fallwork.scenario import from_here
from fallwork.scenario.notation import ENDING, Own
from fallwork.scenario.report import Report, listed, meant, shown, unknown

FOLDER = Path(__file__).parent / "steps"
File = str | Own  # one of the program, by its name below the folder, or a course's
_ELSEWHERE = ("opening", "safety", "measured/opening", "measured/system")  # in no order of steps
_OF_A_SHEET = ("step", "result", "fold", "caution", "table", "mistake", "question")
_UNTITLED = ("why", "check")
_CALL = re.compile(r'{%-? call (mistake|question)\("([^"]+)"(.*?)%}', re.DOTALL)
_SLIP = re.compile(r'\bslip="([^"]+)"')


def step_from(name: str, lab: Base, **asked: Any) -> Step | None:
    """A file's step for a lab, ``asked`` about something; ``BadInput`` for one of no use."""
    words = lab.scenario.notation.words
    files = [words.get(name, name), *filter(None, [words.get(f"{name}.more")])]
    with placed(next((each.place.file for each in reversed(files) if isinstance(each, Own)), "")):
        return _step(name, files, lab, asked)


def _step(name: str, files: Sequence[File], lab: Base, asked: Mapping[str, Any]) -> Step | None:
    sheet, words = Sheet(lab), ""
    says = {word: getattr(sheet, word) for word in _OF_A_SHEET}
    says |= {mark: partial(sheet.fold, mark, "") for mark in _UNTITLED}
    bounds = name == "safety" or name.startswith("measured/")  # which have numbers of their own
    symbols = not (bounds or lab.numbers or getattr(lab, "evidence", None))
    for file in files:
        sheet.typed = file.text if symbols and isinstance(file, Own) else None
        template = _template(file, frozenset(asked), lab.known)
        if isinstance(template.environment, Sandbox):
            template.environment.left = MOST
        with placed(_path(file) if isinstance(file, Own) else ""):
            try:
                said = template.render(lab.vocabulary, sheet=sheet, lab=lab, **says, **asked)
            except AbsentError:
                return None
        words = f"{words}\n\n{said}"
    parts, folds = list(sheet.all_parts(words)), dict[str, Fold]()
    for part in parts:
        if isinstance(part, Fold):  # all of one mark together
            before = folds[part.mark].blocks if part.mark in folds else ()
            folds[part.mark] = replace(part, blocks=(*before, *part.blocks))
    checked = folds.pop("check", None)
    blocks = [part for part in parts if not isinstance(part, Fold | Slip | Question)]
    idea = blocks.pop(0)
    told = [*sheet.head.get("was", ()), *(v for k, v in sheet.head.items() if k != "was")]
    assert all(isinstance(each, str) for each in told), "a step's head holds texts"
    assert isinstance(idea, Paragraph), f"{name} begins with no sentence"
    return Step(
        **{"id": name, "topic": name} | sheet.head,
        idea=idea.text,
        blocks=tuple(blocks),
        check=checked.blocks if checked else (),
        folds=tuple(sorted(folds.values(), key=lambda fold: fold.mark != "why")),
        slips=tuple(part for part in parts if isinstance(part, Slip)),
        questions=tuple(part for part in parts if isinstance(part, Question)),
    )


# ---- reading a file: what is misspelt is named with its place


@cache
def _template(file: File, asked: frozenset[str], known: frozenset[str]) -> Template:
    own = isinstance(file, Own)
    environment, key = _environment(own), digest("step", file, asked, known, _path(file) * own)
    compiled = kept(key)  # it had no problems then
    if compiled is None:
        problems = [*_doubled(), *_unknown(file, asked | known)]
        if problems:
            raise BadInput(tuple(problems))
        source = _source(file) if own else _tree(file)
        code = environment.compile(source, _name(file), _path(file))
        keep(key, marshal.dumps(code))
    else:
        code = marshal.loads(compiled)
    return Template.from_code(environment, code, environment.make_globals(None))


def _name(file: File) -> str:
    return file.name if isinstance(file, Own) else file


def _path(file: File) -> str:
    return file.place.file if isinstance(file, Own) else str(FOLDER / f"{file}{ENDING}")


@cache
def _source(file: File) -> str:
    return file.text if isinstance(file, Own) else Path(_path(file)).read_text("utf-8")


@cache
def _tree(file: File) -> Any:
    with placed():
        return _environment().parse(_source(file), _name(file), _path(file))


@cache
def _files() -> frozenset[str]:
    """The program's own."""
    paths = (path.relative_to(FOLDER).as_posix() for path in FOLDER.rglob(f"*{ENDING}"))
    return frozenset(path.removesuffix(ENDING) for path in paths)


def _unknown(file: File, known: frozenset[str]) -> Iterator[Problem]:
    """Letters, conditions, words and files that nobody knows."""
    for other in _tree(file).find_all((Extends, FromImport, Import, Include)):
        name = str(getattr(other.template, "value", "")).removesuffix(ENDING)
        if name in _files():
            yield from _unknown(name, known)
        else:
            expected = meant(name, sorted(_files()), "name a file of the program")
            yield _problem(file, other.lineno, f"unknown file {shown(name)}", expected)
    words = (
        known | _environment().globals.keys() | {"lab", "loop", "caller", *_OF_A_SHEET, *_UNTITLED}
    )
    lines: dict[str, int] = {}  # of each name that the file asks
    for each in _tree(file).find_all((Name, Macro, FromImport)):
        if isinstance(each, FromImport):
            words |= {own if isinstance(own, str) else own[1] for own in each.names}
        elif isinstance(each, Macro) or each.ctx != "load":
            words |= {each.name}
        else:
            lines.setdefault(each.name, each.lineno)
    for word in sorted(lines.keys() - words):
        alike = sorted(each for each in words if each[0].isupper() == word[0].isupper())
        expected = meant(word, alike, f"known are {', '.join(sorted(known))}")
        yield _problem(file, lines[word], f"unknown word {shown(word)}", expected)


@cache
def _doubled(own: tuple[Own, ...] = ()) -> tuple[Problem, ...]:
    """Ids that stand in the files a second time, and mistakes that a question names in vain; those
    of a course's own files if there are any.
    """
    files: list[File] = [*sorted(_files() - {each.name for each in own}), *own]
    ids = [each for file in files for each in _ids(file)]
    mistakes = sorted({id_ for kind, id_, _, _ in ids if kind == "common mistake"})
    problems, seen = [], set[tuple[str, str]]()
    for kind, id_, file, line in ids:
        if own and not isinstance(file, Own):
            pass
        elif not kind and id_ not in mistakes:
            expected = meant(id_, mistakes, "name the id of one")
            problems.append(_problem(file, line, f"unknown common mistake {shown(id_)}", expected))
        elif kind and (kind, id_) in seen:
            found = f"the {kind} {shown(id_)} a second time"
            problems.append(_problem(file, line, found, "choose another id"))
        seen.add((kind, id_))
    return tuple(problems)


def _ids(file: File) -> Iterator[tuple[str, str, File, int]]:
    """Each id in a file with kind, file and line; without a kind where a question names one."""
    for call in _CALL.finditer(_source(file)):
        line = _source(file).count("\n", 0, call.start()) + 1
        yield "question" if call[1] == "question" else "common mistake", call[2], file, line
        yield from (("", slip, file, line) for slip in _SLIP.findall(call[3]))


def _problem(file: File, line: int, found: str, expected: str) -> Problem:
    path = str(from_here(Path(_path(file))))
    return Problem(place=Place(file=path, line=line, column=1), found=found, expected=expected)


# ---- a course's own files


def check_words(words: Mapping[str, Own]) -> None:
    """Raises ``BadInput`` for files whose place or id isn't that of a step."""
    report = Report(_doubled(tuple(words.values())) if words else ())
    for own in words.values():
        with placed(own.place.file):
            _check_place(own, report)
    report.raise_if_any()


def _check_place(own: Own, report: Report) -> None:
    steps = [file for file in sorted(_files()) if _head(file)]
    head, of = _head(own), own.name.removesuffix(".more")
    for call in _calls(own, "figure"):
        if call not in _figures():
            report.refuse(replace(own.place, line=call.lineno), "words-figure")
    place = replace(own.place, line=head.lineno if head else 1)
    if of != own.name:
        if of not in steps:
            report.refuse(place, "unknown", **unknown("step", of, steps))
        elif head:
            report.refuse(place, "words-head", head="no step(…)")
    elif not head or not head.args:
        report.refuse(place, "words-head", head=f'step("{of}", …)')
    elif of in steps:
        same: Any = _head(of)
        if head.args[0] != same.args[0]:
            line = _source(of).split("\n")[same.lineno - 1]
            report.refuse(place, "words-head", head=line.partition(",")[0].strip("{ "))
    elif head.args[0] != Const(of):
        report.refuse(place, "words-head", head=f'step("{of}", …)')
    elif (after := _after(own)) not in steps or after in _ELSEWHERE:
        names = unknown(
            "step", after, [*{*steps}.difference(_ELSEWHERE)], 'say behind which: after="tension"'
        )
        report.refuse(place, "unknown", **names)


def _head(file: File) -> Call | None:
    return next(_calls(file, "step"), None)


def _calls(file: File, name: str) -> Iterator[Call]:
    for call in _tree(file).find_all(Call):
        if isinstance(call.node, Name) and call.node.name == name:
            yield call


@cache
def _figures() -> tuple[Call, ...]:
    return tuple(call for file in sorted(_files()) for call in _calls(file, "figure"))


@cache
def _after(own: Own) -> str:
    head = _head(own)
    said = {each.key: each.value for each in head.kwargs} if head else {}
    after = said.get("after")
    return str(after.value) if isinstance(after, Const) else ""


def following(lab: Base, file: str) -> list[str]:
    """The course's own steps that stand behind a file's."""
    return [own.name for own in lab.scenario.notation.words.values() if _after(own) == file]


def check_steps(lab: Base, steps: Sequence[Step]) -> None:
    """Raises ``BadInput`` where one of these has the id of another."""
    report, ids = Report(), [step.id for step in steps]
    for own in lab.scenario.notation.words.values():
        if ids.count(own.name) > 1:
            report.refuse(own.place, "words-step-twice", step=own.name)
    report.raise_if_any()


# ---- what any file may say


def _equation(left: Operand, right: Operand, *forms: Operand, unit: str = "") -> Equation:
    """Two sides, in symbols alone; more forms of the right one, in the order of printing."""
    sides = map(as_expression, (left, right, *forms))
    return Equation(left=next(sides), right=next(sides), forms=tuple(sides), unit=unit)


def _relation(*parts: Any) -> Relation:
    return Relation(sides=tuple(map(as_expression, parts[::2])), signs=tuple(parts[1::2]))


def _sine_in_radians(angle: Expression) -> Expression:
    """The sine of the number of degrees, as a calculator set to radians takes it."""
    return Function(name="sin", argument=Function(name=DEGREES, argument=angle))


@cache
def _environment(own: bool = False) -> Environment:
    finalize = pass_context(lambda context, value: context["sheet"].printed(value))
    environment = language(FOLDER, Sandbox if own else Environment, finalize=finalize)
    environment.globals.update(
        {each.__name__: each for each in (half, half_of, listed, over, product, scaled, total)},
        equation=_equation,
        figure=lambda kind, subject="", phase=0: FigureSlot(
            kind=kind, subject=subject, phase=phase
        ),
        relation=_relation,
        link=lambda step, words: Marked(words=words, step=step),
        strong=lambda words: Marked(words=words),
        sqrt=lambda body: Root(body=as_expression(body)),
        sin=lambda angle: Function(name="sin", argument=as_expression(angle)),
        cos=lambda angle: Function(name="cos", argument=as_expression(angle)),
        tan=lambda angle: Function(name="tan", argument=as_expression(angle)),
        radsin=_sine_in_radians,
        in_words=count_word,
        in_times=times_word,
    )
    environment.filters.update(
        as_written=pass_context(lambda context, words: context["sheet"].token(words)),
        cells=pass_context(lambda context, values: context["sheet"].cells(values)),
        named=lambda keys, names: [names[key.value] for key in keys],  # what a file calls each
    )
    if isinstance(environment, Sandbox):
        environment.close()
    return environment
