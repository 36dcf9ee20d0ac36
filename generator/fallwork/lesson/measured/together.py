"""All trials together: their table, those that don't count, mean and uncertainty, assumptions.

Takes the trials; gives steps with tables. In symbols only the step about mean and uncertainty
is there, with a table of coverage factors.
"""

from collections.abc import Iterator, Sequence
from math import sqrt

from fallwork.lesson.document import Block, FigureSlot, Inline, Items, Step, Text
from fallwork.lesson.expression import Expression, Root, as_expression
from fallwork.lesson.measured.context import Measuring, table, working
from fallwork.lesson.measured.names import UNITS, quantity_words
from fallwork.lesson.measured.words import (
    amount,
    bare,
    estimate_of,
    head,
    interval,
    sentence,
    size,
    text_list,
    unbroken,
)
from fallwork.lesson.trees import product, total
from fallwork.lesson.words import upper_first
from fallwork.measurement.model import Measurand, Summary, Trial
from fallwork.measurement.statistics import coverage_factor

SHOWN = (
    Measurand.ACCELERATION,
    Measurand.FINAL_SPEED,
    Measurand.TRAVEL_TIME,
    Measurand.DISTANCE,
    Measurand.MEAN_TENSION,
    Measurand.WORK_OF_TENSION,
)
TRIALS = (3, 4, 5, 6, 7, 8, 9, 10, 12, 15, 20)  # of the table of coverage factors
SCATTER = "scatter"  # kind of figure


# ---- the trials


def trial_steps(measuring: Measuring) -> Iterator[Step]:
    """The table of trials, what was left out, and what was assumed."""
    yield measuring.step("trials", _trials(measuring), heading="title-data")
    if any(trial.excluded is not None for trial in measuring.trials.analysis.trials):
        yield measuring.step("exclusions", _exclusions(measuring))
    notes = list(_assumptions(measuring))
    if notes:
        yield measuring.step("assumptions", notes)


def shown_quantities(measuring: Measuring) -> tuple[Measurand, ...]:
    """The quantities that the tables have columns for."""
    return tuple(q for q in SHOWN if q in measuring.trials.analysis.summary)


def column(quantity: str) -> Text:
    """The head of a quantity's column, with its unit."""
    return (f"{upper_first(quantity_words(quantity))} in {UNITS[quantity]}",)


def _trials(measuring: Measuring) -> Iterator[Block]:
    evidence = measuring.trials
    yield measuring.paragraph(f"source.{evidence.source}")
    trials = evidence.analysis.trials
    if not trials:
        yield measuring.paragraph("trials.mean-only")
        yield _means(measuring)
        return
    excluded = any(trial.excluded is not None for trial in trials)
    quantities = shown_quantities(measuring)
    columns = [*head("trials.head", "trial"), *(column(quantity) for quantity in quantities)]
    if excluded:
        columns += head("trials.head", "counts")
    rows = [_trial(measuring, trial, quantities, excluded) for trial in trials]
    yield table(sentence("trials.caption"), columns, rows)
    typed = all(trial.record is None for trial in trials)
    yield measuring.paragraph("trials.typed" if typed else "trials.values")


def _trial(
    measuring: Measuring, trial: Trial, quantities: Sequence[Measurand], excluded: bool
) -> tuple[Text, ...]:
    cells: list[Text] = [(unbroken(trial.name),)]
    cells += [(_value(measuring, trial, quantity),) for quantity in quantities]
    if excluded:
        key = "counted" if trial.excluded is None else "excluded"
        cells.append((sentence(f"trials.counts.{key}"),))
    return tuple(cells)


def _value(measuring: Measuring, trial: Trial, quantity: Measurand) -> str:
    """A value of one trial; one that was typed in without ± ends where the scatter does."""
    estimate = trial.estimates.get(quantity)
    if estimate is None:
        return ""
    if estimate.u > 0:
        return bare(estimate, measuring.figures)
    if quantity in trial.written:
        return trial.written[quantity]
    summary = measuring.trials.analysis.summary.get(quantity)
    scatter = 0.0 if summary is None else summary.standard_deviation or 0.0
    return measuring.to_place(estimate.value, scatter, "")


def _means(measuring: Measuring) -> Block:
    rows = [
        (
            (upper_first(quantity_words(name)),),
            (amount(estimate_of(summary), UNITS[name], measuring.figures),),
            (str(summary.n),),
        )
        for name, summary in measuring.trials.analysis.summary.items()
    ]
    return table(
        sentence("trials.caption-means"), head("trials.head-means", "quantity", "mean", "n"), rows
    )


def _exclusions(measuring: Measuring) -> Iterator[Block]:
    analysis = measuring.trials.analysis
    reasons = [
        measuring.say("exclusions.reason", trial=trial.name, because=trial.excluded)
        for trial in analysis.trials
        if trial.excluded is not None
    ]
    yield Items(items=tuple(reasons))
    rows = [
        (
            (upper_first(quantity_words(quantity)),),
            (_mean(measuring, analysis.summary[quantity]),),
            (_mean(measuring, analysis.summary_with_excluded[quantity]),),
        )
        for quantity in shown_quantities(measuring)
        if quantity in analysis.summary_with_excluded
    ]
    yield table(
        sentence("exclusions.caption"),
        head("exclusions.head", "quantity", "without", "with"),
        rows,
    )


def _mean(measuring: Measuring, summary: Summary) -> str:
    return amount(estimate_of(summary), UNITS[summary.quantity], measuring.figures)


def _assumptions(measuring: Measuring) -> Iterator[Block]:
    notes = measuring.trials.analysis.notes
    if notes:
        yield Items(items=tuple((upper_first(note),) for note in notes))


# ---- mean and uncertainty


def together_steps(measuring: Measuring) -> Iterator[Step]:
    """Mean and uncertainty, and what to do about a value that is far off."""
    if measuring.evidence is None:
        yield _summary_step(measuring, _in_symbols(measuring))
        yield measuring.step("outliers", [measuring.paragraph("outliers.rule")])
        return
    yield _summary_step(measuring, _with_numbers(measuring))
    if any(each.outliers for each in measuring.trials.analysis.summary.values()):
        yield measuring.step("outliers", _outliers(measuring))


def _summary_step(measuring: Measuring, blocks: Iterator[Block]) -> Step:
    return measuring.step("summary-step", blocks, step_id="summary")


def _in_symbols(measuring: Measuring) -> Iterator[Block]:
    quantity = (measuring.featured or (Measurand.MEAN_TENSION,))[0]
    names = measuring.names
    mean, deviation, number = (
        names.mean(quantity),
        names.deviation(quantity),
        names.number(quantity),
    )
    less = total([as_expression(number), -as_expression(1)])
    yield measuring.paragraph("summary-step.mean", n=number, mean=mean)
    yield measuring.paragraph("summary-step.deviation", s=deviation, n_less=less)
    yield measuring.paragraph("summary-step.u")
    root = Root(body=as_expression(number))
    yield working(measuring.result(names.u(quantity), as_expression(deviation) / root))
    half = product(names.factor(quantity), names.u(quantity))
    yield measuring.paragraph("summary-step.interval", k=names.factor(quantity), mean=mean, U=half)
    yield _factors()
    yield measuring.paragraph("summary-step.three", s=deviation, u=names.u(quantity))
    yield measuring.paragraph("summary-step.shared-report")
    yield measuring.paragraph("trials.fewer")


def _factors() -> Block:
    rows = [((str(n),), (str(n - 1),), (f"{coverage_factor(n - 1):.2f}",)) for n in TRIALS]
    return table(
        sentence("summary-step.factor-caption"),
        head("summary-step.factor-head", "n", "dof", "k"),
        rows,
    )


def _with_numbers(measuring: Measuring) -> Iterator[Block]:
    yield _overall(measuring)
    quantity = next(iter(measuring.featured), None)
    if quantity is not None and measuring.trials.analysis.trials:
        yield from _worked(measuring, quantity)
    plotted = [q for q in measuring.featured if len(_values(measuring, q)) > 1]
    if plotted:
        yield measuring.paragraph("summary-step.plots")
        yield from (FigureSlot(kind=SCATTER, subject=q) for q in plotted)


def _values(measuring: Measuring, quantity: str) -> list[Trial]:
    return [t for t in measuring.trials.analysis.trials if quantity in t.estimates]


def _overall(measuring: Measuring) -> Block:
    rows = [
        _overall_row(measuring, measuring.trials.analysis.summary[quantity])
        for quantity in measuring.trials.analysis.summary
    ]
    columns = head("summary-step.head", "quantity", "n", "mean", "s", "u", "interval")
    return table(sentence("summary-step.caption"), columns, rows)


def _overall_row(measuring: Measuring, summary: Summary) -> tuple[Text, ...]:
    unit = UNITS[summary.quantity]
    deviation = summary.standard_deviation
    return (
        (upper_first(quantity_words(summary.quantity)),),
        (str(summary.n),),
        (measuring.to_place(summary.mean, summary.u, unit),),
        ("" if deviation is None else size(deviation, unit),),
        (size(summary.u, unit),),
        (interval(summary.interval_95, summary.u, unit, measuring.figures),),
    )


def _worked(measuring: Measuring, quantity: str) -> Iterator[Block]:
    """One quantity in full: how the uncertainty of the mean and the interval come about."""
    names = measuring.names
    summary = measuring.trials.analysis.summary[quantity]
    if summary.standard_deviation is None:
        yield measuring.paragraph("summary-step.one")
        return
    mean, u, k = names.mean(quantity), names.u(quantity), names.factor(quantity)
    yield measuring.paragraph("summary-step.mean", n=str(summary.n), mean=mean)
    yield measuring.paragraph(
        "summary-step.deviation", s=names.deviation(quantity), n_less=str(summary.n - 1)
    )
    yield measuring.paragraph("summary-step.u")
    root = Root(body=as_expression(names.number(quantity)))
    scatter = as_expression(names.deviation(quantity)) / root
    yield working(measuring.result(names.u_scatter(quantity), scatter))
    if summary.effects:
        yield measuring.paragraph("summary-step.shared", effects=_effects(summary))
        yield working(measuring.result(u, _both(measuring, summary)))
    yield measuring.paragraph(
        "summary-step.interval-numbers",
        k=measuring.context.amount(summary.coverage_factor, ""),
        n_less=_dof(summary.dof),
    )
    low = total([as_expression(mean), -product(k, u)])
    high = total([as_expression(mean), product(k, u)])
    yield working(
        measuring.result(names.end(quantity, "low"), low),
        measuring.result(names.end(quantity, "high"), high),
    )
    yield measuring.paragraph("summary-step.three", s=names.deviation(quantity), u=u)


def _dof(dof: float) -> str:
    return f"{dof:.0f}" if dof < 1000 else "very many"


def _both(measuring: Measuring, summary: Summary) -> Expression:
    """Scatter and what all trials share, by squares."""
    shared = sqrt(sum(effect.u**2 for effect in summary.effects))
    names = measuring.names
    parts = (names.u_scatter(summary.quantity), names.u_shared(summary.quantity, shared))
    return Root(body=total([as_expression(part) ** 2 for part in parts]))


def _effects(summary: Summary) -> Inline:
    unit = UNITS[summary.quantity]
    return text_list([f"{effect.name} {size(effect.u, unit)}" for effect in summary.effects])


def _outliers(measuring: Measuring) -> Iterator[Block]:
    flagged = [
        "".join(
            str(part)
            for part in measuring.say(
                "outliers.flagged-item", trial=name, quantity=quantity_words(summary.quantity)
            )
        )
        for summary in measuring.trials.analysis.summary.values()
        for name in summary.outliers
    ]
    yield measuring.paragraph("outliers.flagged", list=text_list(flagged))
    yield measuring.paragraph("outliers.rule")
