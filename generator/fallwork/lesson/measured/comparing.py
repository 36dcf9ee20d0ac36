"""Prediction and comparison: the uncertainty of a prediction, the one rule for a verdict, and each
quantity measured against predicted.

Takes the set-up and, on a page that may show results, trials with what was made of them; gives
steps.
"""

from collections.abc import Iterator, Mapping, Sequence

from fallwork.lesson.document import (
    Block,
    Equation,
    FigureSlot,
    Items,
    Paragraph,
    Relation,
    Step,
    StepLink,
    Text,
)
from fallwork.lesson.expression import Expression, Root, Symbol, as_expression
from fallwork.lesson.measured.context import Measuring, table, working
from fallwork.lesson.measured.names import FACTOR_FIGURES
from fallwork.lesson.measured.words import (
    UNITS,
    amount,
    breakable,
    ends_at,
    head,
    interval,
    quantity_words,
    sentence,
    size,
    text_list,
    unbroken,
)
from fallwork.lesson.rounding import rounded
from fallwork.lesson.trees import product, signed, total
from fallwork.lesson.words import upper_first
from fallwork.measurement.comparison import Comparison, QuantityComparison, Verdict
from fallwork.measurement.model import Measurand
from fallwork.measurement.prediction import Method, Predicted
from fallwork.measurement.statistics import lost_in_rounding

TURNS = (Measurand.ACCELERATION, Measurand.MEAN_TENSION)
AGAINST = "scatter-prediction"  # kind of figure
STEP_IDS: Mapping[str, str] = {
    Measurand.ACCELERATION: "comparison-acceleration",
    Measurand.ACCELERATION_FROM_SPEED: "comparison-acceleration-from-speed",
    Measurand.MEAN_TENSION: "comparison-tension",
    Measurand.FINAL_SPEED: "comparison-final-speed",
}


def prediction_step(measuring: Measuring) -> Step:
    """What the prediction rests on and how uncertain it is."""
    shows = measuring.evidence is not None
    return measuring.step(
        "prediction", _predicted(measuring) if shows else _how_to_predict(measuring)
    )


def verdict_step(measuring: Measuring) -> Step:
    """The rule, in symbols; where nothing is known to judge by, only what would be needed."""
    summary = measuring.summary(measuring.judged)
    if summary is not None and summary.u is None:
        return measuring.step("verdict", _nothing_to_judge(measuring), idea="idea-open")
    return measuring.step("verdict", _rule(measuring))


def comparison_steps(measuring: Measuring) -> Iterator[Step]:
    """One step a quantity, then all trials one by one."""
    judgement = measuring.trials.judgement
    assert judgement is not None  # asked for on pages that may show it
    for quantity, found in judgement.comparison.quantities.items():
        yield _comparison_step(measuring, quantity, found)
    by_trial = [q for q, found in judgement.comparison.quantities.items() if _singly(found)]
    if by_trial:
        yield measuring.step("by-trial", _by_trial(measuring, by_trial))


# ---- the prediction


def _how_to_predict(measuring: Measuring) -> Iterator[Block]:
    facts = measuring.facts
    own = "own-rest" if not facts.moves else "own" if facts.from_rest else "own-push"
    if own == "own" and not measuring.context.rubs:
        own = "own-frictionless"
    yield measuring.paragraph(f"prediction.{own}")
    if facts.slides and facts.moves:
        yield measuring.paragraph("prediction.friction" if facts.rubs else "prediction.no-friction")
    for key in ("propagate", "largest", "another"):
        yield measuring.paragraph(f"prediction.{key}")


def _predicted(measuring: Measuring) -> Iterator[Block]:
    judgement = measuring.trials.judgement
    assert judgement is not None  # as above
    prediction = judgement.prediction
    yield measuring.paragraph("prediction.given")
    shown = {
        name: predicted
        for name, predicted in prediction.quantities.items()
        if name in measuring.trials.analysis.summary or name in measuring.featured
    }
    rows = [_predicted_row(measuring, name, predicted) for name, predicted in shown.items()]
    columns = head("prediction.head", "quantity", "value", "interval", "method")
    yield table(sentence("prediction.caption"), columns, rows)
    drawn = [p for p in shown.values() if p.method is Method.MONTE_CARLO]
    draws = f"{prediction.draws:,}".replace(",", "\u00a0")
    if drawn:
        yield measuring.paragraph("prediction.monte-carlo", draws=draws)
        undefined = max(p.simulated.undefined for p in drawn if p.simulated is not None)
        if undefined > 0:
            yield measuring.paragraph(
                "prediction.undefined", share=rounded(100 * undefined, 2).text
            )
    elif prediction.draws:
        yield measuring.paragraph("prediction.agrees", draws=draws)


def _predicted_row(measuring: Measuring, name: str, predicted: Predicted) -> tuple[Text, ...]:
    unit, u = UNITS[name], predicted.estimate.u
    ends = interval(predicted.interval_95, u, unit, measuring.figures)
    method = "monte-carlo" if predicted.method is Method.MONTE_CARLO else "linear"
    return (
        (upper_first(quantity_words(name)),),
        (breakable(amount(predicted.estimate, unit, measuring.figures)),),
        (ends if u > 0 else "",),
        (sentence(f"prediction.methods.{method}"),),
    )


# ---- the rule


def _nothing_to_judge(measuring: Measuring) -> Iterator[Block]:
    yield measuring.paragraph(f"source.{measuring.trials.source}")
    yield measuring.paragraph("verdict.open", list=measuring.unscattered)


def _rule(measuring: Measuring) -> Iterator[Block]:
    quantity = measuring.judged
    names = measuring.names
    difference, limit = names.difference(quantity), names.limit(quantity)
    factor, u = names.factor_of_difference(quantity), names.u_difference(quantity)
    if measuring.evidence is not None:
        yield measuring.paragraph(f"source.{measuring.evidence.source}")
    yield measuring.paragraph("verdict.difference")
    yield working(
        measuring.result(difference, difference_tree(measuring, quantity), numbers=False),
        measuring.result(u, u_tree(measuring, quantity), numbers=False),
        measuring.result(limit, product(factor, u), numbers=False),
    )
    yield measuring.paragraph("verdict.rule", k=factor)
    if measuring.evidence is None:
        yield measuring.paragraph("verdict.within")
        yield relation_block(within(difference, limit))
    yield measuring.paragraph("verdict.one-rule")
    yield measuring.paragraph("verdict.percent")
    share = percent_tree(measuring, quantity)
    yield working(measuring.result(measuring.names.percent(quantity), share, numbers=False))
    for key in ("percent-why", "meaning", "systems"):
        yield measuring.paragraph(f"verdict.{key}")
    if measuring.unscattered:
        yield measuring.paragraph("verdict.open", list=measuring.unscattered)


def difference_tree(measuring: Measuring, quantity: str) -> Expression:
    """Measured minus predicted."""
    names = measuring.names
    return total([as_expression(names.mean(quantity)), -as_expression(names.predicted(quantity))])


def u_tree(measuring: Measuring, quantity: str) -> Expression:
    """The uncertainty of the difference; what both sides have in common drops out of it."""
    names = measuring.names
    parts = [as_expression(u) ** 2 for u in (names.u(quantity), names.u_predicted(quantity))]
    if names.covary(quantity):
        common = product(2, as_expression(names.u_common(quantity)) ** 2)
        parts.append(signed(-names.covary(quantity), common))
    return Root(body=total(parts))


def percent_tree(measuring: Measuring, quantity: str) -> Expression:
    """The difference over the size of the predicted value."""
    names = measuring.names
    difference = as_expression(names.difference(quantity))
    predicted = names.predicted(quantity)
    share = difference / as_expression(predicted)
    return -share if (predicted.value or 0.0) < 0 else share


def within(difference: Symbol, limit: Symbol) -> Relation:
    """The difference between its limits."""
    trees = (-as_expression(limit), as_expression(difference), as_expression(limit))
    return Relation(sides=trees, signs=("≤", "≤"))


def stands(difference: Symbol, limit: Symbol, comparison: Comparison) -> Relation:
    """Where the difference stands: between its limits or beyond one of them."""
    if comparison.verdict is Verdict.AGREE:
        return within(difference, limit)
    if comparison.difference.value < 0:
        return Relation(sides=(as_expression(difference), -as_expression(limit)), signs=("<",))
    return Relation(sides=(as_expression(difference), as_expression(limit)), signs=(">",))


# ---- one quantity


def _comparison_step(measuring: Measuring, quantity: str, found: QuantityComparison) -> Step:
    judged = found.overall.verdict is not Verdict.OPEN
    blocks = _comparison if judged else _description
    return measuring.step(
        "comparison",
        (*which_means(measuring, quantity), *blocks(measuring, quantity, found)),
        step_id=STEP_IDS[quantity],
        idea=f"idea-{ENDINGS[found.overall.verdict]}",
        short=upper_first(quantity_words(quantity)),
        quantity=quantity_words(quantity),
    )


def which_means(measuring: Measuring, quantity: str) -> Iterator[Block]:
    """What a quantity stands for in a run whose forces change at a turn."""
    if measuring.facts.turns_back and quantity in TURNS:
        yield measuring.paragraph(f"turns.{quantity}")


ENDINGS: Mapping[Verdict, str] = {  # of the keys of sentences
    Verdict.AGREE: "agree",
    Verdict.DIFFER: "differ",
    Verdict.OPEN: "open",
}


def _description(measuring: Measuring, quantity: str, found: QuantityComparison) -> Iterator[Block]:
    """What can be said without any uncertainty: the difference, and its size in percent."""
    yield measuring.paragraph("comparison.figure-open")
    yield FigureSlot(kind=AGAINST, subject=quantity)
    yield measuring.paragraph("comparison.steps-open")
    yield working(*_described(measuring, quantity, found.overall))
    if lost_in_rounding(found.overall.difference, found.overall.measured.step):
        yield measuring.paragraph("verdict.lost")
    yield measuring.paragraph("comparison.open", link=to_the_rule())


def to_the_rule() -> StepLink:
    """A link to where it stands what a verdict needs."""
    return StepLink(step="verdict", words=sentence("verdict.title"))


def _described(measuring: Measuring, quantity: str, overall: Comparison) -> Iterator[Equation]:
    difference = measuring.names.difference(quantity)
    yield measuring.result(difference, difference_tree(measuring, quantity))
    if overall.percent is not None:
        share = percent_tree(measuring, quantity)
        yield measuring.result(measuring.names.percent(quantity), share)


def _comparison(measuring: Measuring, quantity: str, found: QuantityComparison) -> Iterator[Block]:
    names, overall = measuring.names, found.overall
    words = quantity_words(quantity)
    yield measuring.paragraph("comparison.figure" if found.trials else "comparison.figure-means")
    yield FigureSlot(kind=AGAINST, subject=quantity)
    k = rounded(overall.coverage_factor or 0.0, FACTOR_FIGURES).text
    if names.covary(quantity):
        yield measuring.paragraph("comparison.common", u=names.u_common(quantity))
    yield measuring.paragraph("comparison.steps", k=k)
    limit = product(names.factor_of_difference(quantity), names.u_difference(quantity))
    difference, *percent = _described(measuring, quantity, overall)
    u = measuring.result(names.u_difference(quantity), u_tree(measuring, quantity))
    yield working(difference, u, measuring.result(names.limit(quantity), limit), *percent)
    yield relation_block(stands(names.difference(quantity), names.limit(quantity), overall))
    predicted = quantity_words(Measurand(quantity).predicted)
    key = f"comparison.{_verdict_key(overall)}"
    yield measuring.paragraph(key, quantity=words, predicted=predicted)
    if Measurand(quantity).predicted != quantity:
        yield measuring.paragraph("comparison.same-speeds")
    if found.side and overall.verdict is Verdict.AGREE:
        yield one_side(measuring, "comparison", len(found.trials), found.side)


def one_side(measuring: Measuring, key: str, n: int, side: int) -> Block:
    """That all trials lie on one side, with a link to what that means."""
    return measuring.paragraph(
        f"{key}.one-side",
        n=n,
        side=sentence(f"comparison.sides.{'above' if side > 0 else 'below'}"),
        link=StepLink(step="by-trial", words=sentence("comparison.link")),
    )


def relation_block(relation: Relation) -> Block:
    """A relation on a line of its own."""
    return Paragraph(text=(relation,))


def _verdict_key(comparison: Comparison) -> str:
    if comparison.verdict is Verdict.AGREE:
        return "agree"
    return "differ-less" if comparison.difference.value < 0 else "differ-more"


# ---- trial by trial


def _by_trial(measuring: Measuring, quantities: Sequence[str]) -> Iterator[Block]:
    judgement = measuring.trials.judgement
    assert judgement is not None  # as above
    found = {quantity: judgement.comparison.quantities[quantity] for quantity in quantities}
    columns = [*head("by-trial.head", "trial")]
    for quantity in quantities:
        columns.append((f"{upper_first(quantity_words(quantity))} in {UNITS[quantity]}",))
    trials = list(dict.fromkeys(name for each in found.values() for name in each.trials))
    rows: list[tuple[Text, ...]] = []
    for trial in trials:
        cells = [_single(measuring, found[q], trial) for q in quantities]
        rows.append(((unbroken(trial),), *((cell,) for cell in cells)))
    limits = [_limits(found[q]) for q in quantities]
    rows.append((head("by-trial.head", "limit")[0], *((limit,) for limit in limits)))
    yield table(sentence("by-trial.caption"), columns, rows)
    yield from _who_is_outside(measuring, found)
    yield measuring.paragraph("by-trial.expected")
    yield from _on_one_side(measuring, found)


def _who_is_outside(
    measuring: Measuring, found: Mapping[str, QuantityComparison]
) -> Iterator[Block]:
    outside = {quantity: _outside(each) for quantity, each in found.items()}
    if not any(outside.values()):
        yield measuring.paragraph("by-trial.none-outside")
        return
    yield measuring.paragraph("by-trial.outside")
    items = (
        measuring.say(
            "by-trial.outside-item", quantity=quantity_words(quantity), list=text_list(names)
        )
        for quantity, names in outside.items()
        if names
    )
    yield Items(items=tuple(items))


def _on_one_side(measuring: Measuring, found: Mapping[str, QuantityComparison]) -> Iterator[Block]:
    """What it means that all trials lie above the prediction, or all below."""
    sided = {quantity: each for quantity, each in found.items() if each.side}
    if not sided:
        return
    fewest = min(len(each.trials) for each in sided.values())
    yield measuring.paragraph(
        "by-trial.one-side",
        list=text_list([quantity_words(quantity) for quantity in sided]),
        odds=2 ** (fewest - 1),
    )
    if all(each.overall.verdict is Verdict.AGREE for each in sided.values()):
        yield measuring.paragraph("by-trial.one-side-agree")


def _outside(found: QuantityComparison) -> list[str]:
    """The trials that lie outside their limits; all of them in a word."""
    names = [
        unbroken(name)
        for name, comparison in found.trials.items()
        if comparison.verdict is Verdict.DIFFER
    ]
    return [sentence("by-trial.all")] if len(names) == len(found.trials) else names


def _single(measuring: Measuring, found: QuantityComparison, trial: str) -> str:
    """A difference to the same place in all trials: that of the best known one."""
    comparison = found.trials.get(trial)
    if comparison is None:
        return ""
    u = min(ends_at(each.difference) for each in found.trials.values())
    return measuring.to_place(comparison.difference.value, u, "")


def _singly(found: QuantityComparison) -> bool:
    """Whether several trials can each be judged by itself."""
    return sum(each.limit is not None for each in found.trials.values()) > 1


def _limits(found: QuantityComparison) -> str:
    """The limit of the single trials; the smallest and the largest where they differ."""
    limits = [each.limit for each in found.trials.values() if each.limit is not None]
    low, high = size(min(limits), ""), size(max(limits), "")
    if low == high:
        return f"±\u00a0{low}"
    limits_in_words = sentence("by-trial.limits").format(low=low, high=high)
    return limits_in_words.replace("± ", "±\u00a0")
