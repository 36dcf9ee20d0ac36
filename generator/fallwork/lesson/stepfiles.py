"""Steps written as files: each ``steps/*.md.j2`` is one step, in the order in which it is read.

Takes the name of a file and the lab that it asks; gives the ``Step``, with its check, its common
mistakes and the questions that it answers, or None where the set-up has no such step.
"""

import marshal
import re
from collections.abc import Iterator
from dataclasses import replace
from functools import cache, partial
from pathlib import Path
from typing import Any

from jinja2 import Environment, Template, pass_context
from jinja2.meta import find_referenced_templates
from jinja2.nodes import FromImport, Macro, Name

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
from fallwork.lesson.sheet import AbsentError, Sheet
from fallwork.lesson.trees import half, half_of, over, product, scaled, total
from fallwork.lesson.words import count_word, language, placed, times_word
from fallwork.once import digest, keep, kept
from fallwork.scenario import from_here
from fallwork.scenario.report import listed, meant, shown

FOLDER = Path(__file__).parent / "steps"
ENDING = ".md.j2"
_OF_A_SHEET = ("step", "result", "fold", "caution", "table", "mistake", "question")
_UNTITLED = ("why", "check")
_CALL = re.compile(r'{%-? call (mistake|question)\("([^"]+)"(.*?)%}', re.DOTALL)
_SLIP = re.compile(r'\bslip="([^"]+)"')


def step_from(name: str, lab: Base, **asked: Any) -> Step | None:
    """A file's step for a lab, ``asked`` about something; ``BadInput`` for one of no use."""
    template, sheet = _template(name, frozenset(asked), lab.known), Sheet(lab)
    says = {word: getattr(sheet, word) for word in _OF_A_SHEET}
    says |= {mark: partial(sheet.fold, mark, "") for mark in _UNTITLED}
    try:
        with placed():
            words = template.render(lab.vocabulary, sheet=sheet, lab=lab, **says, **asked)
    except AbsentError:
        return None
    parts, folds = list(sheet.all_parts(words)), dict[str, Fold]()
    for part in parts:
        if isinstance(part, Fold):  # all of one mark together
            before = folds[part.mark].blocks if part.mark in folds else ()
            folds[part.mark] = replace(part, blocks=(*before, *part.blocks))
    checked = folds.pop("check", None)
    blocks = [part for part in parts if not isinstance(part, Fold | Slip | Question)]
    idea = blocks.pop(0)
    assert isinstance(idea, Paragraph), f"{name} begins with {idea!r}"
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
def _template(name: str, asked: frozenset[str], known: frozenset[str]) -> Template:
    environment, key = _environment(), digest("step", name, asked, known)
    compiled = kept(key)  # it had no problems then
    if compiled is None:
        problems = [*_doubled(), *_unknown(name, asked | known)]
        if problems:
            raise BadInput(tuple(problems))
        code = environment.compile(_tree(name), name, str(FOLDER / f"{name}{ENDING}"))
        keep(key, marshal.dumps(code))
    else:
        code = marshal.loads(compiled)
    return Template.from_code(environment, code, environment.make_globals(None))


@cache
def _source(name: str) -> str:
    return (FOLDER / f"{name}{ENDING}").read_text("utf-8")


@cache
def _tree(name: str) -> Any:
    with placed():
        return _environment().parse(_source(name), name, str(FOLDER / f"{name}{ENDING}"))


def _unknown(name: str, known: frozenset[str]) -> Iterator[Problem]:
    """Letters, conditions and words that nobody knows."""
    for other in find_referenced_templates(_tree(name)):
        yield from _unknown(str(other).removesuffix(ENDING), known)
    words = (
        known | _environment().globals.keys() | {"lab", "loop", "caller", *_OF_A_SHEET, *_UNTITLED}
    )
    lines: dict[str, int] = {}  # of each name that the file asks
    for each in _tree(name).find_all((Name, Macro, FromImport)):
        if isinstance(each, FromImport):
            words |= {own if isinstance(own, str) else own[1] for own in each.names}
        elif isinstance(each, Macro) or each.ctx != "load":
            words |= {each.name}
        else:
            lines.setdefault(each.name, each.lineno)
    for word in sorted(lines.keys() - words):
        alike = sorted(each for each in words if each[0].isupper() == word[0].isupper())
        expected = meant(word, alike, f"known are {', '.join(sorted(known))}")
        yield _problem(name, lines[word], f"unknown word {shown(word)}", expected)


@cache
def _doubled() -> tuple[Problem, ...]:
    """Ids that stand in the files a second time, and mistakes that a question names in vain."""
    paths = (path.relative_to(FOLDER) for path in sorted(FOLDER.rglob(f"*{ENDING}")))
    ids = [each for path in paths for each in _ids(path.as_posix().removesuffix(ENDING))]
    mistakes = sorted({id_ for kind, id_, _, _ in ids if kind == "common mistake"})
    problems, seen = [], set[tuple[str, str]]()
    for kind, id_, name, line in ids:
        if not kind and id_ not in mistakes:
            expected = meant(id_, mistakes, "name the id of one")
            problems.append(_problem(name, line, f"unknown common mistake {shown(id_)}", expected))
        elif kind and (kind, id_) in seen:
            found = f"the {kind} {shown(id_)} a second time"
            problems.append(_problem(name, line, found, "choose another id"))
        seen.add((kind, id_))
    return tuple(problems)


def _ids(name: str) -> Iterator[tuple[str, str, str, int]]:
    """Each id in a file with kind, file and line; without a kind where a question names one."""
    for call in _CALL.finditer(_source(name)):
        line = _source(name).count("\n", 0, call.start()) + 1
        yield "question" if call[1] == "question" else "common mistake", call[2], name, line
        yield from (("", slip, name, line) for slip in _SLIP.findall(call[3]))


def _problem(name: str, line: int, found: str, expected: str) -> Problem:
    file = str(from_here(FOLDER / f"{name}{ENDING}"))
    return Problem(place=Place(file=file, line=line, column=1), found=found, expected=expected)


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
def _environment() -> Environment:
    finalize = pass_context(lambda context, value: context["sheet"].printed(value))
    environment = language(FOLDER, finalize=finalize)
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
    return environment
