"""The report: what to hand in, tables to fill in, questions, how it is judged.

Takes the set-up and the course's rubric; gives steps in symbols.
"""

from collections.abc import Iterator, Sequence

from fallwork.lesson.document import Block, Items, Step, Text
from fallwork.lesson.lab import Lab
from fallwork.lesson.measured.context import Measuring, table
from fallwork.lesson.measured.names import UNITS, quantity_words
from fallwork.lesson.measured.words import head, items, sentence, title
from fallwork.lesson.words import upper_first
from fallwork.measurement.model import Measurand

ROWS = 10  # of the table of trials


def report_steps(measuring: Measuring, rubric: Sequence[str]) -> Iterator[Step]:
    """What a report holds and how it is judged."""
    yield measuring.step("hand-in", _hand_in(measuring))
    yield measuring.step("tables", _tables(measuring))
    yield measuring.step("questions-to-answer", [_questions(measuring)])
    yield measuring.step("how-judged", _judged(measuring, rubric))


def _hand_in(measuring: Measuring) -> Iterator[Block]:
    names = "hand-in.items" if measuring.facts.moves else "hand-in.items-rest"
    yield Items(items=tuple((item,) for item in items(names)), ordered=True)
    for key in ("formulas", "changed", "solution"):
        yield measuring.paragraph(f"hand-in.{key}")


def _tables(measuring: Measuring) -> Iterator[Block]:
    if not measuring.facts.moves:
        heads = head("tables.rest-head", "quantity", "measured", "predicted", "agree")
        keys = ["tension"]
        if measuring.facts.grips:
            limits = Lab(measuring.context).limiting_masses
            keys += [*(key for key in ("most", "least") if key in limits), "grip"]
        rows = [_empty(sentence(f"tables.{key}"), 3) for key in keys]
        yield table(sentence("tables.rest-caption"), heads, rows)
        return
    quantities = list(_asked_for(measuring))
    columns: list[Text] = [(sentence("tables.trial"),)]
    columns += [(f"{words} in {unit}",) for words, unit in quantities]
    last = [sentence(f"tables.{key}") for key in ("mean", "deviation", "u")]
    names = [*map(str, range(1, ROWS + 1)), *last]
    rows = [_empty(name, len(quantities)) for name in names]
    yield table(sentence("tables.trials-caption"), columns, rows)
    yield measuring.paragraph("tables.trials-note")
    heads = head(
        "tables.comparison-head",
        *("quantity", "measured", "predicted", "difference", "limit", "agree"),
    )
    rows = [_empty(words, 5) for words, _ in quantities]
    yield table(sentence("tables.comparison-caption"), heads, rows)
    heads = head(
        "tables.systems-head", *("system", "work", "change", "difference", "limit", "agree")
    )
    systems = measuring.context.setting.scenario.systems
    rows = [_empty(choice.title, 5) for choice in systems]
    yield table(sentence("tables.systems-caption"), heads, rows)


def _asked_for(measuring: Measuring) -> Iterator[tuple[str, str]]:
    """The quantities with their units; out and back apart where friction turns round between."""
    for quantity in measuring.featured:
        words, unit = upper_first(quantity_words(quantity)), UNITS[quantity]
        if measuring.facts.turns_back and quantity is not Measurand.FINAL_SPEED:
            yield title("tables.out", quantity=words), unit
            yield title("tables.back", quantity=words), unit
        else:
            yield words, unit


def _empty(name: str, cells: int) -> tuple[Text, ...]:
    return (name,), *((("",),) * cells)


def _questions(measuring: Measuring) -> Block:
    facts, context = measuring.facts, measuring.context
    keys = ["no-work", "external", "scatter", "verdict", "lost", "improve"]
    if not facts.moves:
        keys = ["rest"]
        if facts.grips:
            keys += ["rest-way"] if facts.sloping else []
            keys += ["rest-size", *(["rest-steeper"] if facts.sloping else [])]
    elif context.is_plain and context.speeds_up:
        falls = context.setting.senses[context.weight] > 0
        keys = ["smaller" if falls else "larger", *keys, "other"]
    asked = tuple(measuring.say(f"questions-to-answer.{key}") for key in keys)
    return Items(items=asked, ordered=True)


def _judged(measuring: Measuring, rubric: Sequence[str]) -> Iterator[Block]:
    if rubric:
        yield measuring.paragraph("how-judged.course")
        yield Items(items=tuple((line,) for line in rubric))
    yield measuring.paragraph("how-judged.always")
    yield Items(items=tuple((line,) for line in items("how-judged.items")))
    yield measuring.paragraph("how-judged.follows")
