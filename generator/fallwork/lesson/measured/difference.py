"""Where the energy went, and what one cause alone would have to be.

Takes the account of the discrepancy; gives a step. In symbols it says how such an account is drawn
up. What can't be, what can't be told apart, influences and the uncertainty budget stand in modules
of their own.
"""

from collections.abc import Iterator, Mapping
from dataclasses import replace

from fallwork.lesson.document import Block, Items, Step, StepLink, Text
from fallwork.lesson.expression import Symbol, as_expression
from fallwork.lesson.measured.context import Measuring, table, working
from fallwork.lesson.measured.words import (
    amount,
    breakable,
    ends_at,
    figures_for,
    head,
    sentence,
    text_list,
)
from fallwork.lesson.trees import half, product, total
from fallwork.lesson.words import upper_first
from fallwork.measurement.comparison import Verdict, verdict_on
from fallwork.measurement.discrepancy import CHECKS, Alone, Balance, Discrepancy, Impossible
from fallwork.measurement.model import Measurand, Outcome
from fallwork.scenario.model import Slider
from fallwork.scenario.quantity import as_written

SHOWN_IN: Mapping[str, tuple[float, str]] = {  # factor from SI, unit
    "friction": (1.0, ""),
    "friction_at_most": (1.0, ""),
    "hidden_mass": (1000.0, "g"),
    "pulley_mass": (1000.0, "g"),
    "pulley_force": (1.0, "N"),
    "force_zero": (1.0, "N"),
}
RESISTS = ("hidden_mass", "pulley_mass", "pulley_force")  # what can't be less than none
NEGATIVE: Mapping[str, Impossible] = {  # what it means if a loss is negative
    "pulled": Impossible.TENSION_TOO_SMALL,
    "all": Impossible.ENERGY_GAINED,
    "rest": Impossible.TENSION_TOO_LARGE,
}
ZERO_OFF = 0.001  # N, an error of the force sensor's zero to show what it does


def numbers_step(measuring: Measuring) -> Step:
    """Where energy went, from the trials."""
    return measuring.step("discrepancy", _account(measuring, discrepancy_of(measuring)))


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
        key = "" if measuring.facts.rubs else "-frictionless"
        yield measuring.paragraph(f"discrepancy.report-rest{key}")
        yield working(measuring.result(rest, as_expression(whole) - lost))
        yield measuring.paragraph("discrepancy.report-impossible")
        symbols = {"pulled": lost, "all": whole, "rest": rest}
        items = (_if_negative(measuring, key, symbol) for key, symbol in symbols.items())
        yield Items(items=tuple(items))
    yield measuring.paragraph("discrepancy.human")


def _if_negative(measuring: Measuring, key: str, symbol: Symbol) -> Text:
    """What a negative loss means, and what to look at."""
    checks = CHECKS[NEGATIVE[key]]
    names = [measuring.title(f"impossible.checks.{each.value}") for each in checks]
    return measuring.say(f"discrepancy.report-negative.{key}", E=symbol, list=text_list(names))


def _missing(measuring: Measuring, key: str, outcome: Outcome | None) -> Symbol:
    """Energy that is missing: at the pulled object, altogether, or between the two."""
    marks = {"pulled": measuring.context.names.subscript(measuring.facts.moving)}
    value = None if outcome is None else outcome.value
    last = 0.0 if outcome is None else ends_at(outcome)
    return Symbol(
        id=f"measured.missing.{key}",
        letter="E",
        subscript=f"{marks.get(key, key)},miss",
        meaning=measuring.title(f"discrepancy.meanings.{key}"),
        unit="J",
        value=value,
        figures=figures_for(value or 0.0, last, measuring.figures),
    )


# ---- with numbers


def _account(measuring: Measuring, found: Discrepancy) -> Iterator[Block]:
    balance = found.balance
    if balance is None:
        yield measuring.paragraph("discrepancy.nothing")
        return
    resists = measuring.facts.rubs
    yield measuring.paragraph("discrepancy.table" if resists else "discrepancy.table-frictionless")
    yield _balance_table(measuring, balance)
    rule = StepLink(step="verdict", words=sentence("discrepancy.rule"))
    yield measuring.paragraph("discrepancy.uncertainty", rule=rule)
    yield from _zero(measuring, balance)
    yield from _rest(measuring, balance)
    yield from _verdicts(measuring, balance)
    ways = found.consistency.slope_and_speed
    if ways is not None and ways is not Verdict.OPEN:
        yield measuring.paragraph(f"discrepancy.ways-{ways.value}")
    yield from _one_at_a_time(measuring, found, balance)


def _balance_table(measuring: Measuring, balance: Balance) -> Block:
    rows: list[tuple[Text, ...]] = []
    rubs = measuring.facts.rubs
    pairs = {
        "pulled": (balance.pulled, balance.pulled_beside),
        "everything": (balance.everything, balance.everything_beside),
        "elsewhere": (balance.elsewhere, balance.elsewhere_beside),
    }
    steps = [each.step for pair in pairs.values() for each in pair if each and each.u is None]
    for key, (bare, beside) in pairs.items():
        if bare is None or beside is None:
            continue
        # What is a sum of others ends where they do.
        bare, beside = (replace(each, step=min(steps, default=0.0)) for each in (bare, beside))
        name = measuring.title(f"discrepancy.rows.{key}")
        cells = [upper_first(name), breakable(_joules(measuring, bare))]
        if rubs:
            cells.append(breakable(_joules(measuring, beside)))
        cells.append(sentence(f"discrepancy.judged.{sign_of(beside)}"))
        rows.append(tuple((cell,) for cell in cells))
    names = ("where", "bare", "beside", "judged") if rubs else ("where", "bare", "judged")
    return table(sentence("discrepancy.caption"), head("discrepancy.head", *names), rows)


def _zero(measuring: Measuring, balance: Balance) -> Iterator[Block]:
    """What an error of the force sensor's zero would do to the table."""
    distance = measuring.summary(Measurand.DISTANCE)
    if balance.pulled is None or distance is None:
        return
    yield measuring.paragraph(
        "discrepancy.zero",
        off=f"{ZERO_OFF}\u00a0N",
        shift=measuring.amount_of_u(ZERO_OFF * distance.mean, Measurand.WORK_OF_TENSION),
    )


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


def _verdicts(measuring: Measuring, balance: Balance) -> Iterator[Block]:
    """One sentence for each place, and one for the whole where the places don't tell."""
    resists = "" if measuring.facts.rubs else "-frictionless"
    places = {"pulled": balance.pulled_beside, "elsewhere": balance.elsewhere_beside}
    whole = balance.everything_beside
    seen = [each for each in (*places.values(), whole) if each is not None]
    known = {place: each for place, each in places.items() if each and each.u is not None}
    for place, beside in known.items():
        ending = "" if place == "elsewhere" else resists
        yield _verdict(measuring, f"{place}-{sign_of(beside)}{ending}", beside)
    nowhere = all(sign_of(each) == "none" for each in known.values())
    if whole.u is not None and (not known or (nowhere and sign_of(whole) != "none")):
        yield _verdict(measuring, f"everything-{sign_of(whole)}{resists}", whole)
        if known:
            yield measuring.paragraph("discrepancy.unplaced")
    if any(each.u is None for each in seen):
        yield measuring.paragraph("discrepancy.open")


def _verdict(measuring: Measuring, key: str, beside: Outcome) -> Block:
    size = replace(beside, value=abs(beside.value))
    return measuring.paragraph(f"discrepancy.{key}", amount=_joules(measuring, size))


def sign_of(outcome: Outcome) -> str:
    """``more`` or ``less`` than zero, ``none`` or ``open``, by the one rule for a verdict."""
    verdict = verdict_on(outcome)
    if verdict is Verdict.DIFFER:
        return "more" if outcome.value > 0 else "less"
    return "none" if verdict is Verdict.AGREE else "open"


def _joules(measuring: Measuring, outcome: Outcome) -> str:
    return amount(outcome, "J", measuring.figures)


# ---- one cause at a time


def _one_at_a_time(measuring: Measuring, found: Discrepancy, balance: Balance) -> Iterator[Block]:
    values = _alone(found)
    if not values:
        return
    rows = [_alone_row(measuring, key, values[key]) for key in SHOWN_IN if key in values]
    yield measuring.paragraph("discrepancy.alone")
    columns = head("discrepancy.alone-head", "what", "value")
    yield table(sentence("discrepancy.alone-caption"), columns, rows)
    if any(values[key].value < 0 for key in RESISTS if key in values):
        places = (balance.pulled_beside, balance.elsewhere_beside)
        signs = [sign_of(each) for each in places if each is not None]
        ending = "-real" if "less" in signs else "-open" if "open" in signs else ""
        yield measuring.paragraph(f"discrepancy.alone-negative{ending}")


def _alone(found: Discrepancy) -> dict[str, Outcome]:
    """What one cause alone would be; without a measured pull the most that friction can be."""
    alone = found.alone or Alone(**dict.fromkeys(Alone.__dataclass_fields__))
    values = {key: getattr(alone, key, None) for key in SHOWN_IN}
    if values["friction"] is None:
        values["friction_at_most"] = found.estimates.friction_at_most
    return {key: value for key, value in values.items() if value is not None}


def _alone_row(measuring: Measuring, key: str, value: Outcome) -> tuple[Text, ...]:
    factor, unit = SHOWN_IN[key]
    given = {"given": _given_friction(measuring)} if measuring.facts.rubs else {}
    row = "friction-given" if key == "friction" and given else key
    name = upper_first(measuring.title(f"discrepancy.alone-rows.{row}", **given))
    u = None if value.u is None else factor * value.u
    shown = Outcome(value=factor * value.value, u=u, step=factor * value.step)
    return (name,), (breakable(amount(shown, unit, measuring.figures)),)


def _given_friction(measuring: Measuring) -> str:
    scenario = measuring.context.setting.scenario
    body = scenario.objects[measuring.facts.moving]
    assert isinstance(body, Slider)
    friction = body.friction or scenario.surfaces[body.runs_on].friction
    return as_written(friction).replace(" ", "\u00a0")
