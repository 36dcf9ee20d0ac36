"""What neglected influences would do, with the evidence for and against each.

Takes the account of the discrepancy; gives a table and what it comes to. In symbols the table says
which way each influence works and what else would show it.
"""

from collections.abc import Callable, Iterator, Mapping
from math import degrees

from fallwork.lesson.document import Block, Items, Step, Strong, Text
from fallwork.lesson.measured.comparing import ENDINGS
from fallwork.lesson.measured.context import Measuring, table
from fallwork.lesson.measured.difference import discrepancy_of
from fallwork.lesson.measured.names import quantity_words
from fallwork.lesson.measured.words import amount, entries, head, sentence, size, text_list
from fallwork.lesson.rounding import rounded
from fallwork.lesson.words import upper_first
from fallwork.measurement.comparison import Comparison, Verdict
from fallwork.measurement.discrepancy import Discrepancy
from fallwork.measurement.influences import Influence
from fallwork.measurement.model import Measurand
from fallwork.measurement.suspects import Speaks, Suspect

# Rows for what runs on a surface.
ROLLS = ("wheels", "friction", "tilt", "tilt up", "tilt down", "unweighed")
WITH_WAYS = ("usual", "down")  # cases in which the table says which way each influence works


# ---- in symbols


def influences_step(measuring: Measuring) -> Step:
    """Which way each influence works, for a report."""
    return measuring.step("influences", _directions(measuring), idea="idea-report")


def _directions(measuring: Measuring) -> Iterator[Block]:
    """The directions hold for one cart and one weight; elsewhere they are left out."""
    case = _case(measuring)
    rows: list[tuple[Text, ...]] = []
    for key, row in entries("influences.report-rows").items():
        if not _raised(measuring, key):
            continue
        place = f"influences.report-rows.{key}"
        named = "more" if "more" in row and _in_model(measuring, key) else "name"
        name = upper_first(measuring.title(f"{place}.{named}"))
        shows = upper_first(measuring.title(f"{place}{f'.{case}' * (case in row)}.shows"))
        found = row.get(case, row)
        ways = ((found["a"],), (found["T"],)) if case in WITH_WAYS else ()
        rows.append(((name,), *ways, (shows,)))
    ways_heads = ("acceleration", "tension") if case in WITH_WAYS else ()
    columns = head("influences.report-head", "influence", *ways_heads, "shows")
    yield table(sentence("influences.report-caption"), columns, rows)


def _in_model(measuring: Measuring, key: str) -> bool:
    """Whether the model has what a pulley's influence is about, so that there may be more of it."""
    setting = measuring.context.setting
    parts = [setting.pulleys[name] for name in setting.rotors]
    if key == "pulley inertia":
        return any(part.inertia for part in parts)
    return any(part.bearing_torque for part in parts)


def _case(measuring: Measuring) -> str:
    """``usual`` for a cart that a falling weight pulls, level or up; ``down`` for one that runs
    down a slope and draws its weight up; ``turns`` where it turns round; ``hung`` for a weight
    that the string holds back; "" for the rest.
    """
    context, setting = measuring.context, measuring.context.setting
    if measuring.facts.turns_back:
        return "turns"
    if setting.moves and measuring.facts.pulled_back and not measuring.facts.slides:
        return "hung"
    if not context.is_plain or not setting.moves or setting.turns or setting.turns_within:
        return ""
    climb = setting.slope(context.slider) * setting.senses[context.slider]
    falls = setting.senses[context.weight] > 0
    if falls and climb >= 0:
        return "usual"
    return "down" if climb < 0 and not falls and context.speeds_up else ""


def _raised(measuring: Measuring, key: str) -> bool:
    """Whether the set-up raises the question of an influence."""
    facts, setting = measuring.facts, measuring.context.setting
    if key in ROLLS and not facts.slides:
        return False
    if key.startswith("tilt"):
        up = facts.sloping and setting.slope(facts.moving) * setting.senses[facts.moving] > 0
        fitting = "tilt" if not facts.sloping else "tilt up" if up else "tilt down"
        return key == fitting
    return key != "push" or facts.from_rest


# ---- with numbers


def weighed_step(measuring: Measuring) -> Step:
    """How large each effect is and what speaks for and against it."""
    return measuring.step("influences", _weighed(measuring, discrepancy_of(measuring)))


def _weighed(measuring: Measuring, found: Discrepancy) -> Iterator[Block]:
    gap = found.gap
    differs = gap is not None and gap.verdict is Verdict.DIFFER
    if gap is not None:
        words = amount(gap.difference, "m/s²", measuring.figures)
        quantity = quantity_words(found.gap_of)
        yield measuring.paragraph(
            f"influences.{ENDINGS[gap.verdict]}", gap=words, quantity=quantity
        )
    yield _table(measuring, found, gap, differs)
    yield from _assumed(measuring, found)
    if differs:
        yield measuring.paragraph("influences.evidence")
        yield Items(items=tuple(_evidence(measuring, each) for each in found.suspects))
        yield from _leading(measuring, found)


def _assumed(measuring: Measuring, found: Discrepancy) -> Iterator[Block]:
    """What the amounts are, and what the model takes for granted about wheels, pulley, string."""
    assumed = entries("influences.assumed")
    kinds = [suspect.influence.kind.value for suspect in found.suspects]
    items = [measuring.say(f"influences.assumed.{kind}") for kind in kinds if kind in assumed]
    yield measuring.paragraph("influences.amounts")
    if items:
        yield measuring.paragraph("influences.assumed-lead")
        yield Items(items=tuple(items))


def _leading(measuring: Measuring, found: Discrepancy) -> Iterator[Block]:
    names = [_short_name(measuring, suspect.influence) for suspect in found.leading]
    key = "none" if not names else "one" if len(names) == 1 else "several"
    yield measuring.paragraph(f"influences.leading-{key}", list=text_list(names))


def _table(
    measuring: Measuring, found: Discrepancy, gap: Comparison | None, differs: bool
) -> Block:
    columns = ["influence", "acceleration"]
    columns += ["tension"] if measuring.facts.has_force else []
    heads = [*head("influences.head", *columns)]
    if differs:
        heads += head("influences.head", "needed")
    elif gap is not None and gap.limit is not None:
        heads += head("influences.head-agree", "bound")
    rows = [_row(measuring, suspect, gap, differs) for suspect in found.suspects]
    return table(sentence("influences.caption"), heads, rows)


def _row(
    measuring: Measuring, suspect: Suspect, gap: Comparison | None, differs: bool
) -> tuple[Text, ...]:
    influence = suspect.influence
    cells = [upper_first(_name(measuring, influence))]
    cells.append(_effect(influence, Measurand.ACCELERATION))
    if measuring.facts.has_force:
        cells.append(_effect(influence, Measurand.MEAN_TENSION))
    if differs:
        cells.append(_needed(suspect))
    elif gap is not None and gap.limit is not None:
        cells.append(_bound(influence, gap.limit))
    return tuple((cell,) for cell in cells)


def _effect(influence: Influence, quantity: Measurand) -> str:
    """The change in the unit of the column's head."""
    change = influence.effects.get(quantity, 0.0)
    if not change:
        return sentence("influences.same")
    sign = "+" if change > 0 else ""
    return sign + size(change, "")


def _needed(suspect: Suspect) -> str:
    if suspect.needed is None:
        return sentence("influences.impossible")
    return _in_units(suspect.influence, suspect.needed)


def _bound(influence: Influence, limit: float) -> str:
    """The amount that would shift the acceleration by as much as the limit."""
    effect = influence.effects.get(Measurand.ACCELERATION, 0.0)
    if not effect:
        return sentence("influences.nothing")
    return _in_units(influence, limit / abs(effect) * influence.amount)


def _evidence(measuring: Measuring, suspect: Suspect) -> Text:
    """What speaks for an influence and what against it."""
    name = upper_first(_short_name(measuring, suspect.influence))
    return measuring.say(
        "influences.evidence-item",
        name=Strong(words=f"{name}."),
        **{speaks.value: _pieces(suspect, speaks) for speaks in (Speaks.FOR, Speaks.AGAINST)},
    )


def _pieces(suspect: Suspect, speaks: Speaks) -> str:
    words = entries(f"influences.{speaks.value}")
    found = []
    for each in suspect.evidence:
        if each.speaks is speaks:
            condition = sentence("influences.if-zero") if each.if_zero_is_right else ""
            found.append(words[each.kind.value] + condition)
    return "; ".join(found) or sentence("influences.no-evidence")


def _name(measuring: Measuring, influence: Influence) -> str:
    return measuring.title(
        f"influences.names.{influence.kind.value}",
        amount=_in_units(influence, influence.amount),
    )


def _short_name(measuring: Measuring, influence: Influence) -> str:
    return measuring.title(f"influences.short.{influence.kind.value}")


def _in_units(influence: Influence, value: float) -> str:
    """An amount in the unit in which a lab thinks of it."""
    factor, unit = SHOWN.get(influence.unit, (_same, influence.unit))
    digits = rounded(factor(value), 2).text
    tail = unit if unit in ("°", "") else f"\u00a0{unit}"
    return digits + tail


def _same(value: float) -> float:
    return value


def _thousand(value: float) -> float:
    return 1000 * value


SHOWN: Mapping[str, tuple[Callable[[float], float], str]] = {
    "rad": (degrees, "°"),
    "kg": (_thousand, "g"),
    "kg/m": (_thousand, "g/m"),
}
