"""Questions and slips of the steps about measuring, each at the step that it belongs to.

Takes their files and the symbols of the page; gives the step with both. Formulas are written as in
the slips of the worked steps.
"""

from collections.abc import Mapping
from dataclasses import replace

from fallwork.lesson.catalogues import Entry, Facts, Vocabulary, entries, known, raised
from fallwork.lesson.document import Question, Slip, Step
from fallwork.lesson.expression import SCALE, Expression, Operand, Symbol, evaluate, symbols_in
from fallwork.lesson.measured.context import Measuring
from fallwork.lesson.slips import parse
from fallwork.lesson.textfiles import texts
from fallwork.lesson.words import fill
from fallwork.measurement.model import Measurand

QUESTIONS, SLIPS = "measured-questions", "measured-slips"


def furnished(measuring: Measuring, step: Step) -> Step:
    """The step with its questions and slips."""
    return replace(step, questions=_questions(measuring, step.id), slips=_slips(measuring, step.id))


def _facts(measuring: Measuring) -> Facts:
    facts = measuring.facts
    context = measuring.context
    plain = context.is_plain and facts.moves and context.speeds_up
    return Facts.of(
        {
            "moves": facts.moves,
            "lands": facts.lands,
            "slides": facts.slides,
            "sloping": facts.sloping,
            "level": not facts.sloping,
            "rubs": facts.rubs,
            "floats": not facts.rubs,
            "returns": facts.moves and facts.returns,
            "one-way": not facts.returns,
            "held": facts.held_pull is not None,
            "symbols": measuring.evidence is None,
            "falling": plain
            and not context.setting.slope(context.slider)
            and context.setting.senses[context.weight] > 0,
        }
    )


def _questions(measuring: Measuring, step: str) -> tuple[Question, ...]:
    facts, words = _facts(measuring), measuring.facts.words
    vocabulary = Vocabulary(
        keys=("id", "topic", "asked", "answer"),
        optional=("needs", "slip"),
        topics=known("measured", "topics"),
        needs=facts.known,
        fields=frozenset(words),
        slips=frozenset(entry["id"] for entry in texts(SLIPS)),
    )
    return tuple(
        Question(
            id=entry["id"],
            asked="".join(map(str, fill(entry["asked"], **words))),
            answer=fill(entry["answer"], **words),
            slip=entry.get("slip", ""),
        )
        for entry in raised(entries(QUESTIONS, vocabulary), step, facts)
    )


def _slips(measuring: Measuring, step: str) -> tuple[Slip, ...]:
    facts, letters = _facts(measuring), _letters(measuring)
    vocabulary = Vocabulary(
        keys=("id", "topic", "of", "formula", "done"),
        topics=known("measured", "topics"),
        needs=facts.known,
        letters=known("worked", "letters") | known("measured", "letters"),
        fields=frozenset(measuring.facts.words),
    )
    found = (
        _slip(measuring, entry, letters)
        for entry in raised(entries(SLIPS, vocabulary), step, facts)
    )
    return tuple(slip for slip in found if slip is not None)


def _slip(measuring: Measuring, entry: Entry, letters: Mapping[str, Operand]) -> Slip | None:
    formula, right = parse(entry["formula"], letters), letters.get(entry["of"])
    if formula is None or not isinstance(right, Symbol):
        return None
    done = fill(entry["done"], **measuring.facts.words)
    value = _value(formula, right)
    return Slip(id=entry["id"], of=right, done=done, formula=formula, unit=right.unit, value=value)


def _value(formula: Expression, right: Symbol) -> float | None:
    """What comes out, in the unit of what was meant; None where a symbol has no value."""
    if right.value is None or any(symbol.value is None for symbol in symbols_in(formula)):
        return None
    return evaluate(formula) / SCALE.get(right.unit, 1.0)


def _letters(measuring: Measuring) -> dict[str, Operand]:
    """The letters of the slips file."""
    names, quantity = measuring.names, Measurand.ACCELERATION
    return {
        "am": names.mean(quantity),
        "ap": names.predicted(quantity),
        "p": names.percent(quantity),
    }
