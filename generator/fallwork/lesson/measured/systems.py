"""Work against change of energy for each featured system, with measured values put in.

Takes the set-up, the trials and their comparison; gives a step a system: the parts of its account
and what each rests on, the difference with its limit, and every trial by itself.
"""

import math
from collections.abc import Iterator

from fallwork.lesson.document import Block, Equation, Step, Text
from fallwork.lesson.expression import Expression, as_expression, evaluate
from fallwork.lesson.measured.books import ENERGIES, SAME, Books
from fallwork.lesson.measured.comparing import (
    ENDINGS,
    one_side,
    relation_block,
    stands,
    to_the_rule,
)
from fallwork.lesson.measured.context import Measuring, table, working
from fallwork.lesson.measured.names import FACTOR_FIGURES
from fallwork.lesson.measured.words import (
    ends_at,
    head,
    quantity_words,
    sentence,
    size,
    text_list,
    title,
    unbroken,
)
from fallwork.lesson.rounding import rounded
from fallwork.lesson.trees import half, product, total
from fallwork.lesson.words import lower_first, upper_first
from fallwork.measurement.comparison import MissingSystem, Verdict
from fallwork.measurement.energies import Origin, Part
from fallwork.measurement.model import Measurand
from fallwork.measurement.statistics import guarded, lost_in_rounding
from fallwork.scenario.model import SystemChoice

MOVING = ("kinetic", "rotational")  # energies that go with the speed


def system_steps(measuring: Measuring) -> Iterator[Step]:
    """One step for each featured system that the trials say something about, or can't."""
    judgement = measuring.trials.judgement
    assert judgement is not None  # asked for on pages that may show it
    found = {each.id: each for each in judgement.comparison.systems}
    missing = {each.id: each for each in judgement.comparison.missing}
    for choice in measuring.context.setting.scenario.systems:
        if choice.id in found:
            books = Books(measuring, choice, found[choice.id])
            ending = ENDINGS[books.found.overall.verdict]
            yield _step(measuring, choice, _account(books), ending)
        elif choice.id in missing:
            yield _step(measuring, choice, _why_not(measuring, missing[choice.id]), "missing")


def _step(measuring: Measuring, choice: SystemChoice, blocks: Iterator[Block], key: str) -> Step:
    return measuring.step(
        "system",
        blocks,
        step_id=f"{choice.id}-measured",
        idea=f"idea-{key}",
        short=choice.title,
        title=lower_first(choice.title),
    )


def _why_not(measuring: Measuring, missing: MissingSystem) -> Iterator[Block]:
    if missing.lacks:
        lacking = text_list([quantity_words(quantity) for quantity in missing.lacks], "or")
        yield measuring.paragraph("system.lacks", list=lacking)
    else:
        yield measuring.paragraph("system.no-account")


def _account(books: Books) -> Iterator[Block]:
    measuring, overall = books.measuring, books.found.overall
    account = books.found.account
    yield measuring.paragraph("system.parts")
    yield _parts(books)
    yield from _in_full(books)
    if not account.works:
        yield measuring.paragraph("system.no-work")
    yield from _balanced(books)
    if lost_in_rounding(overall.difference, overall.difference.step):
        yield measuring.paragraph("verdict.lost")
    yield measuring.paragraph(f"system.{_verdict(books)}", link=to_the_rule())
    if books.found.side and overall.verdict is Verdict.AGREE:
        yield one_side(measuring, "system", len(books.found.trials), books.found.side)
    if len(books.found.trials) > 1:
        yield _trials(books)


def _balanced(books: Books) -> Iterator[Block]:
    """The difference of the two sides, its limit, and what it is in percent."""
    measuring, overall = books.measuring, books.found.overall
    judged, equations = overall.verdict is not Verdict.OPEN, [_balance(books)]
    k = rounded(overall.coverage_factor or 0.0, FACTOR_FIGURES).text
    if judged:
        limit = product(books.factor, books.u_of_difference)
        equations.append(measuring.result(books.limit, limit))
    largest, key = _largest(books), "balance" if judged else "balance-open"
    if largest is None:
        yield measuring.paragraph(f"system.{key}", k=k)
    else:
        part = books.words_for(largest)
        yield measuring.paragraph(f"system.{key}-percent", k=k, part=part)
        equations.append(_percent(books, largest))
    yield working(*equations)
    if judged:
        yield relation_block(stands(books.difference, books.limit, overall))


def _verdict(books: Books) -> str:
    if books.found.overall.verdict is not Verdict.DIFFER:
        return ENDINGS[books.found.overall.verdict]
    return "differ-lost" if books.found.overall.difference.value > 0 else "differ-gained"


def _balance(books: Books) -> Equation:
    account = books.found.account
    works = [as_expression(books.part(part)) for part in account.works]
    changes = [-as_expression(books.part(part)) for part in account.changes]
    return books.measuring.result(books.difference, total([*works, *changes]))


def _largest(books: Books) -> Part | None:
    """The part of the account that the percent difference is taken of."""
    overall, account = books.found.overall, books.found.account
    if overall.percent is None:
        return None
    parts = (*account.works, *account.changes)
    return next((part for part in parts if part.name == overall.percent_of), None)


def _percent(books: Books, largest: Part) -> Equation:
    share: Expression = as_expression(books.difference) / as_expression(books.part(largest))
    return books.measuring.result(books.percent, -share if largest.value < 0 else share)


def _parts(books: Books) -> Block:
    account = books.found.account
    rows: list[tuple[Text, ...]] = []
    for part in (*account.works, *account.changes):
        symbol = as_expression(books.part(part))
        name: Text = (f"{upper_first(books.words_for(part))}, ", symbol)
        value = books.measuring.to_place(part.value, guarded(books.last), "J")
        rows.append((name, (value,), (_basis(books.measuring, part),)))
    caption = title("system.caption", title=lower_first(books.choice.title))
    return table(caption, head("system.head", "part", "value", "basis"), rows)


def _basis(measuring: Measuring, part: Part) -> str:
    covered = "measured" if measuring.summary(Measurand.DISTANCE) else "given"
    distance = sentence(f"system.distances.{covered}")
    return measuring.title(f"system.basis.{_basis_key(measuring, part)}", distance=distance)


def _basis_key(measuring: Measuring, part: Part) -> str:
    if part.origin is Origin.FORCE_SENSOR:
        return "force sensor" if measuring.summary(Measurand.WORK_OF_TENSION) else "mean-tension"
    if part.origin is Origin.MODEL:
        rubbing = part.name.startswith("friction") or part.name == "thermal"
        return "model" if rubbing else "model-other"
    if part.name in MOVING and measuring.summary(Measurand.FINAL_SPEED) is None:
        return f"{part.name}-no-speed"
    return part.name if part.name in ENERGIES else "work"


def _trials(books: Books) -> Block:
    columns = list(_columns(books))
    rows: list[tuple[Text, ...]] = []
    for name, trial in books.found.trials.items():
        comparison = trial.comparison
        sides = [trial.account.change]
        if trial.account.works:
            sides.insert(0, trial.account.work)
        last = ends_at(comparison.difference)
        cells = [books.measuring.to_place(value, guarded(last), "J") for value in sides]
        cells.append(books.measuring.to_place(comparison.difference.value, last, "J"))
        if comparison.limit is not None:
            cells.append(f"±\u00a0{size(comparison.limit, 'J')}")
        rows.append(((unbroken(name),), *((cell,) for cell in cells)))
    return table(
        title("system.trials-caption", title=lower_first(books.choice.title)),
        head("system.trials-head", "trial", *columns),
        rows,
    )


def _columns(books: Books) -> Iterator[str]:
    """Heads of the table; they say which side holds the mean of all trials in every row."""
    means = books.found.means
    if books.found.account.works:
        yield "work-of-mean" if Measurand.MEAN_TENSION in means else "work"
    moving = (Measurand.FINAL_SPEED, Measurand.ACCELERATION)
    yield "change-of-mean" if any(quantity in means for quantity in moving) else "change"
    yield "difference"
    if books.found.overall.verdict is not Verdict.OPEN:
        yield "limit"


# ---- one trial in full


def _in_full(books: Books) -> Iterator[Block]:
    """For the usual set-up: how the parts come about in the trial that is worked through."""
    measuring, context = books.measuring, books.measuring.context
    worked = measuring.trials.worked
    plain = context.is_plain and context.speeds_up and not context.setting.slope(context.slider)
    if worked is None or not plain or worked.name not in books.found.trials:
        return
    if Measurand.FINAL_SPEED not in worked.estimates or Measurand.DISTANCE not in worked.estimates:
        return
    parts = (*books.found.trials[worked.name].account.works,)
    parts += books.found.trials[worked.name].account.changes
    new = [part for part in parts if not books.told_before(part)]
    equations = [each for part in new for each in _trial_equation(books, part)]
    if equations:
        yield measuring.paragraph("system.trial", trial=worked.name)
        yield working(*equations)


def _trial_equation(books: Books, part: Part) -> Iterator[Equation]:
    """A part of one trial from its formula; none where the part is a measured value itself."""
    context, single = books.measuring.context, books.measuring.names.single
    names, motion = context.names, context.motion
    distance = single(Measurand.DISTANCE)
    tree: Expression | None = None
    if part.name == "kinetic":
        masses = [names.mass(n) for n in context.setting.movers if n in books.choice.members]
        speed = as_expression(single(Measurand.FINAL_SPEED)) ** 2
        tree = half(total(masses), speed)
    elif part.name == "potential":
        tree = -product(names.mass(context.weight), names.gravity, distance)
    elif part.name.startswith("friction"):
        tree = -product(motion.frictions[context.slider], distance)
    if tree is not None and _holds(tree, part.value):
        yield books.measuring.result(books.in_trial(part), tree)


def _holds(tree: Expression, value: float) -> bool:
    return math.isclose(evaluate(tree), value, rel_tol=SAME)
