"""Which measurement to improve: what each given value adds to the uncertainty of the prediction.

Takes the prediction and the comparison; gives a step with the budget of every compared quantity.
"""

from collections.abc import Iterator, Mapping
from math import sqrt

from fallwork.lesson.document import Block, Step, Text
from fallwork.lesson.measured.context import Measuring, table
from fallwork.lesson.measured.names import UNITS, quantity_words
from fallwork.lesson.measured.words import (
    breakable,
    given_in_words,
    head,
    percent,
    sentence,
    size,
    text_list,
    title,
)
from fallwork.lesson.words import upper_first
from fallwork.measurement.inputs import quantities_of
from fallwork.measurement.model import Measurand
from fallwork.measurement.prediction import Predicted
from fallwork.scenario.quantity import as_written

HALVED = 0.75  # of a squared share that is lost when its uncertainty is halved


def budget_step(measuring: Measuring) -> Step:
    """The shares, and whether trials or prediction limit the comparison."""
    return measuring.step("budget", _budget(measuring))


def _budget(measuring: Measuring) -> Iterator[Block]:
    predicted = _compared(measuring)
    uncertain = {name: each for name, each in predicted.items() if each.linear.u > 0}
    if not uncertain:
        yield measuring.paragraph("budget.none")
    else:
        yield _table(measuring, uncertain)
        yield from _to_improve(measuring, uncertain)
    yield from _sides(measuring)


def _to_improve(measuring: Measuring, predicted: Mapping[str, Predicted]) -> Iterator[Block]:
    """One sentence for each given that has the largest share in something."""
    largest = {name: each.budget[0].input for name, each in predicted.items()}
    for given in dict.fromkeys(largest.values()):
        names = [name for name in predicted if largest[name] == given]
        yield measuring.paragraph(
            "budget.improve",
            quantities=text_list([f"the {quantity_words(name)}" for name in names]),
            given=given_in_words(given, measuring.nouns),
            falls=text_list([_fall(name, predicted[name]) for name in names]),
        )


def _fall(name: str, each: Predicted) -> str:
    """The uncertainty now, and with that of the largest contribution halved."""
    less = each.linear.u * sqrt(1 - HALVED * each.budget[0].share)
    return title(
        "budget.falls",
        quantity=quantity_words(name),
        u=size(each.linear.u, UNITS[name]),
        less=size(less, UNITS[name]),
    )


def _compared(measuring: Measuring) -> Mapping[str, Predicted]:
    judgement = measuring.trials.judgement
    assert judgement is not None  # asked for on pages that may show it
    quantities = judgement.prediction.quantities
    compared = [Measurand(name).predicted for name in judgement.comparison.quantities]
    return {str(name): quantities[name] for name in compared}


def _table(measuring: Measuring, predicted: Mapping[str, Predicted]) -> Block:
    written = dict(_written(measuring))
    paths = dict.fromkeys(each.input for one in predicted.values() for each in one.budget)
    rows: list[tuple[Text, ...]] = []
    for path in paths:
        words = given_in_words(path, measuring.nouns), written.get(path, "")
        name = ", ".join(each for each in words if each)
        cells: list[Text] = [(upper_first(name),)]
        for one in predicted.values():
            (share,) = [each for each in one.budget if each.input == path]
            cells.append((_cell(share.u, share.share),))
        rows.append(tuple(cells))
    columns = [*head("budget.head", "given")]
    columns += [(f"{upper_first(quantity_words(name))} in {UNITS[name]}",) for name in predicted]
    return table(sentence("budget.caption"), columns, rows)


def _cell(u: float, share: float) -> str:
    """What a given adds, in the unit of the column's head, and its share of the square."""
    if u <= 0:
        return "0"
    words = percent(share) if share >= 0.005 else "<\u00a01"
    return sentence("budget.cell").format(u=size(u, ""), share=words).replace(" %", "\u00a0%")


def _written(measuring: Measuring) -> Iterator[tuple[str, str]]:
    """Every given as its author wrote it, by its path."""
    for path, quantity in quantities_of(measuring.context.setting.scenario):
        written = as_written(quantity).replace(" deg", "°").replace(" ", "\u00a0")
        yield path, breakable(written)


def _sides(measuring: Measuring) -> Iterator[Block]:
    """Which side limits each comparison."""
    judgement = measuring.trials.judgement
    assert judgement is not None  # as above
    limited: dict[str, list[str]] = {"trials": [], "prediction": []}
    for name, found in judgement.comparison.quantities.items():
        measured, expected = found.overall.measured.u, found.overall.expected.u
        if measured is None or expected is None:
            continue
        key = "trials" if measured > expected else "prediction"
        limited[key].append(f"the {quantity_words(name)}")
    for key, names in limited.items():
        if names:
            yield measuring.paragraph(f"budget.sides-{key}", quantities=text_list(names))
