"""What the difference says: where energy went, what can't be, what can't be told apart.

Takes the account of the discrepancy; gives steps. Influences and the uncertainty budget stand in
modules of their own. In symbols the steps say how such an account is drawn up.
"""

from collections.abc import Iterator, Mapping

from fallwork.lesson.document import Block, Items, Step, Text
from fallwork.lesson.expression import Symbol, as_expression
from fallwork.lesson.measured.context import Measuring, table, working
from fallwork.lesson.measured.words import (
    amount,
    entries,
    figures_for,
    head,
    sentence,
    text_list,
)
from fallwork.lesson.trees import half, product, total
from fallwork.lesson.words import upper_first
from fallwork.measurement.comparison import Verdict
from fallwork.measurement.discrepancy import Balance, Discrepancy, Estimates, ImpossibleValue
from fallwork.measurement.model import Estimate, Measurand
from fallwork.measurement.separation import Separation
from fallwork.measurement.statistics import coverage_factor
from fallwork.scenario.model import Slider
from fallwork.scenario.quantity import as_written

SHOWN_IN: Mapping[str, tuple[float, str]] = {  # factor from SI, unit
    "friction": (1.0, ""),
    "hidden_mass": (1000.0, "g"),
    "pulley_mass": (1000.0, "g"),
    "pulley_force": (1.0, "N"),
    "force_zero": (1.0, "N"),
    "friction_at_most": (1.0, ""),
}


def difference_steps(measuring: Measuring) -> Iterator[Step]:
    """Where energy went, and what that leaves open."""
    found = discrepancy_of(measuring)
    yield measuring.step("discrepancy", _account(measuring, found))
    if found.impossible:
        sure = any(value.significant for value in found.impossible)
        yield measuring.step(
            "impossible", _impossible(measuring, found), idea="idea" if sure else "idea-maybe"
        )


def told_apart_steps(measuring: Measuring) -> Iterator[Step]:
    """What the trials can and can't tell apart."""
    found = discrepancy_of(measuring)
    if found.separation is not None:
        yield measuring.step("told-apart", _separation(measuring, found.separation))


def discrepancy_of(measuring: Measuring) -> Discrepancy:
    """The account of the discrepancy; only on pages that may show it."""
    judgement = measuring.trials.judgement
    assert judgement is not None  # as the docstring says
    return judgement.discrepancy


# ---- in symbols


def discrepancy_step(measuring: Measuring) -> Step:
    """How to find out where energy went, for a report."""
    return measuring.step("discrepancy", _how(measuring))


def _how(measuring: Measuring) -> Iterator[Block]:
    context, names = measuring.context, measuring.names
    if context.is_plain and context.speeds_up and not context.setting.slope(context.slider):
        lost, rest, whole = (_missing(measuring, key, None) for key in ("pulled", "rest", "all"))
        work, speed = names.mean(Measurand.WORK_OF_TENSION), names.mean(Measurand.FINAL_SPEED)
        cart, weight = context.names.mass(context.slider), context.names.mass(context.weight)
        square = as_expression(speed) ** 2
        fall = product(weight, context.names.gravity, names.mean(Measurand.DISTANCE))
        yield measuring.paragraph("discrepancy.report")
        yield working(measuring.result(lost, as_expression(work) - half(cart, square)))
        yield measuring.paragraph("discrepancy.report-all")
        kinetic = half(total([cart, weight]), square)
        yield working(measuring.result(whole, fall - kinetic))
        yield measuring.paragraph("discrepancy.report-rest")
        yield working(measuring.result(rest, as_expression(whole) - lost))
    yield measuring.paragraph("discrepancy.human")


def _missing(measuring: Measuring, key: str, estimate: Estimate | None) -> Symbol:
    """Energy that is missing: at the pulled object, altogether, or between the two."""
    marks = {"pulled": measuring.context.names.subscript(measuring.facts.moving)}
    value = None if estimate is None else estimate.value
    u = 0.0 if estimate is None else estimate.u
    return Symbol(
        id=f"measured.missing.{key}",
        letter="E",
        subscript=f"{marks.get(key, key)},miss",
        meaning=measuring.title(f"discrepancy.meanings.{key}"),
        unit="J",
        value=value,
        figures=figures_for(value or 0.0, u, measuring.figures),
    )


# ---- with numbers


def _account(measuring: Measuring, found: Discrepancy) -> Iterator[Block]:
    balance = found.balance
    if balance is None:
        yield measuring.paragraph("discrepancy.nothing")
        return
    yield measuring.paragraph("discrepancy.table")
    yield _balance_table(measuring, balance)
    yield from _rest(measuring, balance)
    places = {
        "pulled": balance.pulled_beside,
        "elsewhere": balance.elsewhere_beside,
        "everything": None if balance.pulled_beside else balance.everything_beside,
    }
    for place, beside in places.items():
        if beside is not None:
            resists = "" if measuring.facts.rubs else "-frictionless"
            yield measuring.paragraph(
                f"discrepancy.{place}-{_judged(beside)}{'' if place == 'elsewhere' else resists}",
                amount=_joules(measuring, _size(beside)),
            )
    if found.consistency.slope_and_speed is not None:
        same = found.consistency.slope_and_speed is Verdict.AGREE
        yield measuring.paragraph("discrepancy.ways-agree" if same else "discrepancy.ways-differ")
    yield from _in_terms_of_the_model(measuring, found.estimates)


def _balance_table(measuring: Measuring, balance: Balance) -> Block:
    rows: list[tuple[Text, ...]] = []
    rubs = measuring.facts.rubs
    pairs = {
        "pulled": (balance.pulled, balance.pulled_beside),
        "everything": (balance.everything, balance.everything_beside),
        "elsewhere": (balance.elsewhere, balance.elsewhere_beside),
    }
    for key, (bare, beside) in pairs.items():
        if bare is None or beside is None:
            continue
        name = measuring.title(f"discrepancy.rows.{key}")
        cells = [upper_first(name), _joules(measuring, bare)]
        if rubs:
            cells.append(_joules(measuring, beside))
        cells.append(sentence(f"discrepancy.judged.{_judged(beside)}"))
        rows.append(tuple((cell,) for cell in cells))
    names = ("where", "bare", "beside", "judged") if rubs else ("where", "bare", "judged-bare")
    return table(sentence("discrepancy.caption"), head("discrepancy.head", *names), rows)


def _rest(measuring: Measuring, balance: Balance) -> Iterator[Block]:
    """The share of the pulley as a difference."""
    if balance.pulled is None or balance.elsewhere is None:
        return
    symbols = {
        "all": _missing(measuring, "all", balance.everything),
        "pulled": _missing(measuring, "pulled", balance.pulled),
        "rest": _missing(measuring, "rest", balance.elsewhere),
    }
    yield measuring.paragraph("discrepancy.rest")
    tree = as_expression(symbols["all"]) - symbols["pulled"]
    yield working(measuring.result(symbols["rest"], tree))


def _judged(estimate: Estimate) -> str:
    """``more``, ``less`` or ``none``, by the one rule."""
    if abs(estimate.value) <= coverage_factor(estimate.dof) * estimate.u:
        return "none"
    return "more" if estimate.value > 0 else "less"


def _size(estimate: Estimate) -> Estimate:
    return Estimate(value=abs(estimate.value), u=estimate.u, dof=estimate.dof)


def _joules(measuring: Measuring, estimate: Estimate) -> str:
    return amount(estimate, "J", measuring.figures)


def _in_terms_of_the_model(measuring: Measuring, estimates: Estimates) -> Iterator[Block]:
    rows = []
    for key, (factor, unit) in SHOWN_IN.items():
        estimate: Estimate | None = getattr(estimates, key)
        if key == "friction_at_most" and estimates.friction is not None:
            continue
        if estimate is not None:
            name = upper_first(measuring.title(f"discrepancy.estimate-rows.{key}"))
            shown = Estimate(value=factor * estimate.value, u=factor * estimate.u)
            rows.append(((name,), (amount(shown, unit, measuring.figures),)))
    if not rows:
        return
    yield measuring.paragraph("discrepancy.estimates")
    columns = head("discrepancy.estimates-head", "what", "value")
    yield table(sentence("discrepancy.estimates-caption"), columns, rows)
    if measuring.facts.slides and measuring.facts.rubs:
        yield measuring.paragraph("discrepancy.against-given", given=_given_friction(measuring))


def _given_friction(measuring: Measuring) -> str:
    scenario = measuring.context.setting.scenario
    body = scenario.objects[measuring.facts.moving]
    assert isinstance(body, Slider)
    friction = body.friction or scenario.surfaces[body.runs_on].friction
    return as_written(friction).replace(" ", "\u00a0")


# ---- impossible values


def _impossible(measuring: Measuring, found: Discrepancy) -> Iterator[Block]:
    for value in found.impossible:
        yield measuring.paragraph(f"impossible.kinds.{value.kind.value}")
        key = "significant" if value.significant else "maybe"
        yield measuring.paragraph(f"impossible.{key}", value=_impossible_value(measuring, value))
        if value.significant:
            checks = [measuring.title(f"impossible.checks.{each.value}") for each in value.checks]
            yield measuring.paragraph("impossible.check", list=text_list(checks))


def _impossible_value(measuring: Measuring, value: ImpossibleValue) -> str:
    unit = sentence(f"impossible.units.{value.kind.value}")
    return amount(value.value, unit, measuring.figures)


# ---- what can be told apart


def _separation(measuring: Measuring, found: Separation) -> Iterator[Block]:
    def words(unknown: str) -> str:
        return measuring.title(f"told-apart.unknowns.{unknown}")

    if found.settled:
        yield measuring.paragraph("told-apart.settled")
        rows = [
            ((upper_first(words(unknown.value)),), (amount(value, "N", measuring.figures),))
            for unknown, value in found.settled.items()
        ]
        columns = head("told-apart.head", "what", "value")
        yield table(sentence("told-apart.caption"), columns, rows)
        real = [
            words(each.value) for each, value in found.settled.items() if _judged(value) != "none"
        ]
        key = "real" if real else "none-real"
        yield measuring.paragraph(f"told-apart.{key}", list=text_list(real))
    else:
        yield measuring.paragraph("told-apart.none-settled")
    if len(found.entangled) > 1:
        together = text_list([words(each.value) for each in found.entangled])
        yield measuring.paragraph("told-apart.entangled", list=together)
    if found.unseen:
        unseen = text_list([words(each.value) for each in found.unseen])
        yield measuring.paragraph("told-apart.unseen", list=unseen)
    wishes = [
        measuring.say(
            "told-apart.would-settle",
            unknown=words(unknown.value),
            clue=text_list([_clue(clue.value) for clue in clues], "or"),
        )
        for unknown, clues in found.would_settle.items()
        if clues
    ]
    if wishes:
        yield Items(items=tuple(wishes))
    if not found.consistent:
        yield measuring.paragraph("told-apart.inconsistent")


def _clue(clue: str) -> str:
    """What would have to be measured."""
    return str(entries("told-apart.clues")[clue])
