"""All trials together: their table, those that don't count, mean and uncertainty, assumptions.

Takes the trials; gives steps with tables. In symbols only the step about mean and uncertainty
is there, with a table of coverage factors.
"""

from collections.abc import Iterable, Iterator, Sequence
from math import sqrt

from fallwork.lesson.document import Block, FigureSlot, Inline, Items, Step, Text
from fallwork.lesson.expression import Expression, Root, as_expression
from fallwork.lesson.measured.context import Measuring, table, working
from fallwork.lesson.measured.names import UNITS, quantity_words
from fallwork.lesson.measured.quality import over_others
from fallwork.lesson.measured.words import (
    amount,
    head,
    in_trial,
    interval,
    sentence,
    size,
    text_list,
    unbroken,
    unknown,
)
from fallwork.lesson.trees import product, total
from fallwork.lesson.words import upper_first
from fallwork.measurement.model import Estimate, Measurand, Summary, Trial
from fallwork.measurement.statistics import coverage_factor
from fallwork.measurement.typed import Way, way_of

SHOWN = (
    Measurand.ACCELERATION,
    Measurand.FINAL_SPEED,
    Measurand.ACCELERATION_FROM_SPEED,
    Measurand.TRAVEL_TIME,
    Measurand.DISTANCE,
    Measurand.MEAN_TENSION,
    Measurand.WORK_OF_TENSION,
)
TURNS = (Measurand.ACCELERATION, Measurand.MEAN_TENSION)
TRIALS = (3, 4, 5, 6, 7, 8, 9, 10, 12, 15, 20)  # of the table of coverage factors
SCATTER = "scatter"  # kind of figure


# ---- the trials


def trial_steps(measuring: Measuring) -> Iterator[Step]:
    """The table of trials, what was left out, and what was assumed."""
    yield measuring.step("trials", _trials(measuring), heading="title-data")
    if measuring.summary(Measurand.ACCELERATION_FROM_SPEED) is not None:
        yield measuring.step("from-speed", _from_speed(measuring))
    yield from exclusion_steps(measuring)
    notes = list(_assumptions(measuring))
    if notes:
        yield measuring.step("assumptions", notes)


def exclusion_steps(measuring: Measuring) -> Iterator[Step]:
    """What doesn't count and why, where there is anything."""
    analysis = measuring.trials.analysis
    if analysis.exceptions:
        yield measuring.step("exclusions", _exclusions(measuring))


def shown_quantities(measuring: Measuring) -> tuple[Measurand, ...]:
    """The quantities that the tables have columns for."""
    trials = measuring.trials.analysis.trials
    return tuple(q for q in SHOWN if any(q in trial.estimates for trial in trials))


def column(quantity: str) -> Text:
    """The head of a quantity's column, with its unit."""
    return (f"{upper_first(quantity_words(quantity))} in {UNITS[quantity]}",)


def _trials(measuring: Measuring) -> Iterator[Block]:
    evidence = measuring.trials
    yield measuring.paragraph(f"source.{evidence.source}")
    trials = evidence.analysis.trials
    means = [q for q in evidence.analysis.summary if not measuring.has_trials(q)]
    if not trials:
        yield measuring.paragraph("trials.mean-only" if means else "trials.nothing")
        if means:
            yield _means(measuring, means)
        yield from which_means(measuring, means)
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
    yield from which_means(measuring, measuring.trials.analysis.summary)
    if means:
        yield measuring.paragraph("trials.mean-beside")
        yield _means(measuring, means)
    counted = str(len(evidence.analysis.counted))
    for quantity, n in over_others(evidence.analysis).items():
        words = {"quantity": quantity_words(quantity), "n": str(n), "counted": counted}
        yield measuring.paragraph("trials.mean-of-others", **words)


def which_means(measuring: Measuring, quantities: Iterable[str]) -> Iterator[Block]:
    """What these quantities stand for in a run whose forces change at a turn."""
    for quantity in quantities:
        if measuring.facts.turns_back and quantity in TURNS:
            yield measuring.paragraph(f"trials.turns.{quantity}")


def _from_speed(measuring: Measuring) -> Iterator[Block]:
    """The acceleration that a final speed gives over the distance, worked for one trial."""
    names, setting = measuring.names, measuring.context.setting
    gravity = Estimate(value=float(setting.apparatus.gravity), u=0.0)
    way = way_of(setting.scenario, gravity)
    assert way is not None  # there is one where there is such an acceleration
    known = measuring.summary(Measurand.ACCELERATION) is not None
    yield measuring.paragraph("from-speed.why" if known else "from-speed.why-only")
    single = next(
        (t for t in measuring.trials.analysis.counted if Measurand.FINAL_SPEED in t.estimates), None
    )
    if single is None:
        yield measuring.paragraph("from-speed.mean")
        speed, result = (names.mean(q) for q in (SPEED, FROM_SPEED))
    else:
        yield measuring.paragraph("from-speed.worked", trial=single.name)
        speed, result = (names.in_trial(single, q) for q in (SPEED, FROM_SPEED))
    tree = _gained(measuring, way, as_expression(speed)) / product(2, _covered(measuring, way))
    yield working(measuring.result(result, tree, numbers=single is not None))
    yield measuring.paragraph("from-speed.u" if way.distance.u else "from-speed.u-exact")


SPEED, FROM_SPEED = Measurand.FINAL_SPEED, Measurand.ACCELERATION_FROM_SPEED


def _gained(measuring: Measuring, way: Way, speed: Expression) -> Expression:
    """The square of the final speed, less that of the start."""
    if not way.start.value:
        return speed**2
    start = measuring.names.given_start(way.start.value)
    return total([speed**2, -(as_expression(start) ** 2)])


def _covered(measuring: Measuring, way: Way) -> Expression:
    return as_expression(measuring.names.covered(way.distance.value))


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
    summary = measuring.trials.analysis.summary.get(quantity)
    return in_trial(trial, quantity, summary, measuring.figures)


def _means(measuring: Measuring, quantities: Sequence[str]) -> Block:
    found = [measuring.trials.analysis.summary[quantity] for quantity in quantities]
    rows = [
        (
            (upper_first(quantity_words(summary.quantity)),),
            (_mean(measuring, summary),),
            (_count(summary),),
        )
        for summary in found
    ]
    return table(
        sentence("trials.caption-means"), head("trials.head-means", "quantity", "mean", "n"), rows
    )


def _exclusions(measuring: Measuring) -> Iterator[Block]:
    analysis = measuring.trials.analysis
    if analysis.left_out:
        yield _reasons(measuring, list(analysis.left_out.items()))
    if analysis.set_aside:
        yield from _set_aside(measuring)
    if analysis.included:
        yield measuring.paragraph("exclusions.included")
        told = [(name, f"{each}. {each.despite}") for name, each in analysis.included.items()]
        yield _reasons(measuring, told)
    rows = [
        (
            (upper_first(quantity_words(quantity)),),
            (_mean(measuring, analysis.summary[quantity]),),
            (_mean(measuring, analysis.summary_with_excluded[quantity]),),
        )
        for quantity in shown_quantities(measuring)
        if quantity in analysis.summary_with_excluded and quantity in analysis.summary
    ]
    if rows:
        columns = head("exclusions.head", "quantity", "without", "with")
        yield table(sentence("exclusions.caption"), columns, rows)


def _set_aside(measuring: Measuring) -> Iterator[Block]:
    """What can't be of the set-up; apart what only its results say, for they are no reason to leave
    a trial out for good.
    """
    found = measuring.trials.analysis.set_aside
    for key, by_result in (("set-aside", False), ("set-aside-by-result", True)):
        told = [(name, str(each)) for name, each in found.items() if each.by_result is by_result]
        if told:
            yield measuring.paragraph(f"exclusions.{key}")
            yield _reasons(measuring, told)


def _reasons(measuring: Measuring, told: Sequence[tuple[str, str]]) -> Block:
    said = [measuring.say("exclusions.reason", trial=name, because=why) for name, why in told]
    return Items(items=tuple(said))


def _mean(measuring: Measuring, summary: Summary) -> str:
    return amount(summary.outcome, UNITS[summary.quantity], measuring.figures)


def _count(summary: Summary) -> str:
    return unknown() if summary.n is None else str(summary.n)


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
    if measuring.unscattered:
        yield measuring.paragraph("summary-step.unscattered", list=measuring.unscattered)
    if measuring.scattered is not None:
        yield from _worked(measuring, measuring.scattered)
    elif any(each.n == 1 and each.u for each in measuring.trials.analysis.summary.values()):
        yield measuring.paragraph("summary-step.one")
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
        (_count(summary),),
        (measuring.shown(summary.outcome, unit),),
        ("" if deviation is None and summary.u is not None else size(deviation, unit),),
        (size(summary.u, unit),),
        (interval(summary.interval_95, summary.u, unit, measuring.figures),),
    )


def _worked(measuring: Measuring, quantity: str) -> Iterator[Block]:
    """One quantity in full: how the uncertainty of the mean and the interval come about."""
    names = measuring.names
    summary = measuring.trials.analysis.summary[quantity]
    mean, u, k = names.mean(quantity), names.u(quantity), names.factor(quantity)
    yield measuring.paragraph("summary-step.mean", n=str(summary.n), mean=mean)
    less = str((summary.n or 0) - 1)
    yield measuring.paragraph("summary-step.deviation", s=names.deviation(quantity), n_less=less)
    yield measuring.paragraph("summary-step.u")
    root = Root(body=as_expression(names.number(quantity)))
    scatter = as_expression(names.deviation(quantity)) / root
    yield working(measuring.result(names.u_scatter(quantity), scatter))
    if summary.effects:
        yield measuring.paragraph("summary-step.shared", effects=_effects(summary))
        yield working(measuring.result(u, _both(measuring, summary)))
    yield measuring.paragraph(
        "summary-step.interval-numbers",
        k=measuring.context.amount(summary.coverage_factor or 0.0, ""),
        n_less=_dof(summary.dof),
    )
    low = total([as_expression(mean), -product(k, u)])
    high = total([as_expression(mean), product(k, u)])
    yield working(
        measuring.result(names.end(quantity, "low"), low),
        measuring.result(names.end(quantity, "high"), high),
    )
    key = "three" if measuring.trials.recorded else "two"
    yield measuring.paragraph(f"summary-step.{key}", s=names.deviation(quantity), u=u)


def _dof(dof: float) -> str:
    """Effective ones (JCGM 100:2008, G.4) are no whole number."""
    if dof >= 1000:
        return "very many"
    return f"{dof:.0f}" if abs(dof - round(dof)) < 0.05 else f"{dof:.1f} effective"


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
