"""Steps written as files: each ``steps/*.md.j2`` is one step, in the order in which it is read.

Takes the name of a file and the lab that it asks; gives the ``Step``, or None where the file says
that the set-up has no such step. Everything that a page knows of the step stands in its file: its
sentences and formulas, its check, its common mistakes and the questions that it answers.
"""

import re
import sys
from collections.abc import Callable, Iterable, Iterator, Mapping
from functools import cache
from pathlib import Path
from traceback import extract_tb
from typing import Any

from jinja2 import (
    Environment,
    FileSystemLoader,
    StrictUndefined,
    Template,
    TemplateSyntaxError,
    Undefined,
    UndefinedError,
    pass_context,
)
from jinja2.nodes import FromImport, Macro, Name
from jinja2.runtime import Context

from fallwork.errors import BadInput, Place, Problem
from fallwork.lesson.document import (
    Caution,
    Equation,
    FigureSlot,
    Inline,
    Items,
    Paragraph,
    Question,
    Relation,
    Slip,
    Step,
    StepLink,
    Strong,
    Table,
    Text,
)
from fallwork.lesson.expression import Expression, Function, Operand, Root, Symbol, as_expression
from fallwork.lesson.lab.base import Base
from fallwork.lesson.sheet import Check, Sheet
from fallwork.lesson.trees import half, half_of, product, scaled, total
from fallwork.lesson.words import count_word, listing, times_word, upper_first
from fallwork.scenario import from_here
from fallwork.scenario.report import meant, shown

FOLDER = Path(__file__).parent / "steps"
ENDING = ".md.j2"
_NAMED = {"mistake": "common mistake", "question": "question"}  # what has an id of its own
_CALL = re.compile(r'{%-? call (mistake|question)\("([^"]+)"(.*?)%}', re.DOTALL)
_SLIP = re.compile(r'\bslip="([^"]+)"')


class _AbsentError(Exception):
    """The file says that the set-up has no such step."""


def step_from(name: str, lab: Base, **asked: Any) -> Step | None:
    """The step that a file gives for a lab; ``asked`` is what it is about, by name, e.g. the
    object whose equation it is. Raises ``BadInput`` for a file that can't be used.
    """
    try:
        sheet, words = _filled(name, lab, asked)
    except _AbsentError:
        return None
    parts = list(sheet.all_parts(words))
    blocks = [part for part in parts if not isinstance(part, Check | Slip | Question)]
    idea = blocks.pop(0)
    assert isinstance(idea, Paragraph), f"{name} begins with {idea!r}"
    return Step(
        **{"id": name, "topic": name} | sheet.head,
        idea=idea.text,
        blocks=tuple(blocks),
        check=tuple(block for part in parts if isinstance(part, Check) for block in part.blocks),
        slips=tuple(part for part in parts if isinstance(part, Slip)),
        questions=tuple(part for part in parts if isinstance(part, Question)),
    )


def items_from(name: str, lab: Base) -> tuple[Text, ...]:
    """The list that a file gives which is no step."""
    sheet, words = _filled(name, lab, {})
    (listed,) = sheet.all_parts(words)
    assert isinstance(listed, Items), listed
    return listed.items


def _filled(name: str, lab: Base, asked: Mapping[str, Any]) -> tuple[Sheet, str]:
    template = _template(name, frozenset(asked), lab.known)
    sheet = Sheet()
    try:
        return sheet, template.render({**lab.vocabulary, "sheet": sheet, "lab": lab, **asked})
    except UndefinedError as error:
        lines = [f.lineno for f in extract_tb(sys.exc_info()[2]) if f.filename.endswith(ENDING)]
        raise BadInput(
            (_problem(name, lines[-1] or 1, str(error), "name what is there"),)
        ) from None


# ---- reading a file: what is misspelt is named with its place


@cache
def _template(name: str, asked: frozenset[str], known: frozenset[str]) -> Template:
    problems = [*_doubled(), *_unknown(name, asked | known)]
    if problems:
        raise BadInput(tuple(problems))
    environment = _environment()
    code = environment.compile(_tree(name), name, str(FOLDER / f"{name}{ENDING}"))
    return Template.from_code(environment, code, environment.make_globals(None))


@cache
def _source(name: str) -> str:
    return (FOLDER / f"{name}{ENDING}").read_text("utf-8")


@cache
def _tree(name: str) -> Any:
    try:
        return _environment().parse(_source(name))
    except TemplateSyntaxError as error:
        expected = "write {{ … }} for what is printed and {% … %} for conditions"
        raise BadInput((_problem(name, error.lineno, error.message or "", expected),)) from None


def _unknown(name: str, known: frozenset[str]) -> Iterator[Problem]:
    """Letters, conditions and words that nobody knows."""
    asked: list[Name] = []
    own: set[str] = set()  # names that the file itself brings
    for each in _tree(name).find_all((Name, Macro, FromImport)):
        if isinstance(each, FromImport):
            own |= {one if isinstance(one, str) else one[1] for one in each.names}
            yield from _unknown(str(each.template.as_const()).removesuffix(ENDING), known)
        elif isinstance(each, Macro) or each.ctx != "load":
            own.add(each.name)
        else:
            asked.append(each)
    words = known | own | _environment().globals.keys() | {"lab", "caller", "loop"}
    for each in asked:
        if each.name not in words:
            alike = sorted(w for w in words if w[0].isupper() == each.name[0].isupper())
            expected = meant(each.name, alike, f"known are {', '.join(sorted(known))}")
            yield _problem(name, each.lineno, f"unknown word {shown(each.name)}", expected)


@cache
def _doubled() -> tuple[Problem, ...]:
    """Ids that stand in the files a second time, and mistakes that a question names in vain."""
    seen: set[tuple[str, str]] = set()
    problems, meant_ = [], []
    for path in sorted(FOLDER.rglob(f"*{ENDING}")):
        name = path.relative_to(FOLDER).as_posix().removesuffix(ENDING)
        for kind, id_, line in _ids(name):
            if kind == "slip":
                meant_.append((id_, name, line))
            elif (kind, id_) in seen:
                found = f"the {kind} {shown(id_)} a second time"
                problems.append(_problem(name, line, found, "choose another id"))
            seen.add((kind, id_))
    mistakes = sorted(id_ for kind, id_ in seen if kind == _NAMED["mistake"])
    for id_, name, line in meant_:
        if id_ not in mistakes:
            expected = meant(id_, mistakes, "name the id of one")
            problems.append(_problem(name, line, f"unknown common mistake {shown(id_)}", expected))
    return tuple(problems)


def _ids(name: str) -> Iterator[tuple[str, str, int]]:
    """Each id in a file with its kind and line; of kind "slip" where a question names one."""
    source = _source(name)
    for call in _CALL.finditer(source):
        line = source.count("\n", 0, call.start()) + 1
        yield _NAMED[call[1]], call[2], line
        for slip in _SLIP.findall(call[3]):
            yield "slip", slip, line


def _problem(name: str, line: int, found: str, expected: str) -> Problem:
    file = str(from_here(FOLDER / f"{name}{ENDING}"))
    return Problem(place=Place(file=file, line=line, column=1), found=found, expected=expected)


# ---- what a file may say


@pass_context
def _step(context: Context, id_: str, *, when: object = True, **head: str) -> str:
    """The head of a step: its id, ``title``, ``short``; without ``when``, there is none."""
    if not when:
        raise _AbsentError
    _sheet(context).head.update({"id": id_, **head})
    return ""


@pass_context
def _result(context: Context, left: Operand, right: Operand, unit: str = "") -> str:
    """An equation whose right side gives the value of the left one, in the unit of that."""
    symbol = as_expression(left).symbol if not unit else None  # type: ignore[attr-defined]
    equation = context["lab"].result(left, right, symbol.unit if symbol else unit)
    return _sheet(context).token(equation)


def _equation(left: Operand, right: Operand, *forms: Operand, unit: str = "") -> Equation:
    """Two sides, in symbols alone; more forms of the right one, in the order of printing."""
    sides = map(as_expression, (left, right, *forms))
    return Equation(left=next(sides), right=next(sides), forms=tuple(sides), unit=unit)


@pass_context
def _checks(context: Context, caller: Callable[[], str]) -> str:
    sheet = _sheet(context)
    return sheet.block(Check(sheet.blocks(caller())))


@pass_context
def _caution(context: Context, caller: Callable[[], str]) -> str:
    sheet = _sheet(context)
    return sheet.block(Caution(text=sheet.text(caller())))


@pass_context
def _table(context: Context, caption: str, caller: Callable[[], str]) -> str:
    """Rows of cells between bars; the first row are the heads of the columns.

    A line without a bar goes on with the cell before.
    """
    sheet = _sheet(context)
    lines = re.sub(r"\n(?=[^|\n]*(\n|$))", " ", caller().strip("\n")).split("\n")
    head, *rows = (tuple(map(sheet.text, line.split("|"))) for line in lines)
    words = re.sub("[ \n]+", " ", caption.strip())
    return sheet.block(Table(caption=words, head=head, rows=tuple(rows)))


@pass_context
def _mistake(
    context: Context,
    id_: str,
    of: Operand,
    formula: Operand,
    when: object = True,
    *,
    caller: Callable[[], str],
) -> str:
    """A common mistake: the quantity that comes out wrong, the wrong formula, and what was done.

    There is none where the set-up hasn't got what the formula names, and where it gives the
    right value. In numbers, what gives the value of a mistake before it is told together with that.
    """
    lab = context["lab"]
    wrong = None
    if when and not lab.bare and not lab.later:
        wrong = lab.wrong(as_expression(of), as_expression(formula))
    if wrong is None:
        return ""
    sheet, symbol = _sheet(context), as_expression(of).symbol  # type: ignore[attr-defined]
    done = sheet.text(caller())
    return sheet.slip(
        Slip(id=id_, of=symbol, done=done, formula=wrong[0], unit=symbol.unit, value=wrong[1])
    )


@pass_context
def _question(
    context: Context,
    id_: str,
    when: object = True,
    *,
    slip: str = "",
    later: bool = False,
    caller: Callable[[], str],
) -> str:
    """A question that students put: its first line asks, the others answer.

    ``slip``: the id of the common mistake that usually stands behind it. ``later``: it is put in a
    later part of a run, where no others are.
    """
    lab = context["lab"]
    if not when or lab.bare or lab.later != later:
        return ""
    sheet = _sheet(context)
    asked, _, answer = caller().strip().partition("\n")
    plain = "".join(map(str, sheet.text(asked)))
    return sheet.block(Question(id=id_, asked=plain, answer=sheet.text(answer), slip=slip))


@pass_context
def _as_written(context: Context, words: str) -> str:
    """Words that others wrote, such as the name of a trial, with whatever signs are in them."""
    return _sheet(context).token(words)


@pass_context
def _cells(context: Context, values: Iterable[object]) -> str:
    """Values as neighbouring cells of a table, their words as they are."""
    return " | ".join(_kept(context, value) for value in values)


def _kept(context: Context, value: object) -> str:
    if isinstance(value, tuple):  # a text
        return "".join(_kept(context, piece) for piece in value)
    if isinstance(value, str):
        return _sheet(context).token(value)
    return _printed(context, value)


def _named(keys: Iterable[Any], names: Mapping[str, str]) -> list[str]:
    """What a file calls each of these."""
    return [names[key.value] for key in keys]


def _figure(kind: str, subject: str = "", phase: int = 0) -> FigureSlot:
    return FigureSlot(kind=kind, subject=subject, phase=phase)


def _relation(*parts: Any) -> Relation:
    """``relation(T, "<", m * g)``."""
    return Relation(sides=tuple(map(as_expression, parts[::2])), signs=tuple(parts[1::2]))


def _of_angle(name: str) -> Callable[[Operand], Expression]:
    return lambda angle: Function(name=name, argument=as_expression(angle))


def _sheet(context: Context) -> Sheet:
    sheet: Sheet = context["sheet"]
    return sheet


@pass_context
def _printed(context: Context, value: object) -> str:
    """What an expression in braces prints: words as they are, anything else as its token."""
    if isinstance(value, str):
        return value
    if type(value) is Undefined:  # of "… if …" without "else"; what nobody knows is strict
        return ""
    if isinstance(value, int):
        return str(value)
    if isinstance(value, Symbol):
        value = as_expression(value)
    if isinstance(value, tuple):  # a text
        return "".join(_printed(context, piece) for piece in value)
    if isinstance(value, Inline | Equation):
        return _sheet(context).token(value)
    if isinstance(value, FigureSlot | Table | Slip | Question):
        return _sheet(context).block(value)
    raise TypeError(f"a step prints {value!r}, which is neither words nor part of a step")


_SAYS: Mapping[str, Any] = {
    "step": _step,
    "result": _result,
    "equation": _equation,
    "check": _checks,
    "caution": _caution,
    "table": _table,
    "mistake": _mistake,
    "question": _question,
    "figure": _figure,
    "link": lambda step, words: StepLink(step=step, words=words),
    "strong": lambda words: Strong(words=words),
    "relation": _relation,
    "half": half,
    "half_of": half_of,
    "sqrt": lambda body: Root(body=as_expression(body)),
    "sin": _of_angle("sin"),
    "cos": _of_angle("cos"),
    "listing": listing,
    "scaled": scaled,
    "total": total,
    "product": product,
    "in_words": count_word,
    "in_times": times_word,
}


@cache
def _environment() -> Environment:
    environment = Environment(
        loader=FileSystemLoader(FOLDER),
        finalize=_printed,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,
    )
    environment.globals.update(_SAYS)
    environment.filters.update(
        as_written=_as_written, capital=upper_first, cells=_cells, named=_named
    )
    return environment
