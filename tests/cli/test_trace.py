"""Whether ``trace`` finds each mistake by its number, in the labs of the demo course."""

from collections import Counter
from contextlib import suppress
from datetime import UTC, datetime
from decimal import Decimal
from functools import cache
from itertools import islice
from pathlib import Path

import pytest

from cases import cases
from fallwork import errors, mechanics
from fallwork.commands import call
from fallwork.commands.numbers import numbers_known
from fallwork.lesson.answers import numbers_of
from fallwork.lesson.matching import matches
from fallwork.pages.context import Context
from fallwork.planning.results import candidates
from fallwork.scenario import load_course
from lesson.kit import lesson_from

OTHER = {"m/s²": ("cm/s²", 2), "m/s": ("cm/s", 2), "N": ("mN", 3), "J": ("mJ", 3), "s": ("ms", 3)}


@cache
def labs():
    """The labs of the demo course's term, each with the numbers that come up in it."""
    data = load_course(Path(__file__).parents[2] / "site-data")
    context = Context(data, datetime(2026, 11, 30, tzinfo=UTC), telling=False)
    given = [each for each in context.labs() if each.term.id == "2026-autumn"]
    return {each.lab.id: (each.lab.variant, numbers_known(context, each)) for each in given}


def variants(each):
    """What comes up with so many other sets of numbers of every lab."""
    for scenario, _ in labs().values():
        there = filter(None, map(with_numbers, candidates(scenario)))
        yield from islice(there, each)


def with_numbers(scenario):
    with suppress(errors.BadInput, mechanics.ImpossibleApparatus):
        return numbers_of(lesson_from(scenario))


def traced(one, same, digits):
    """The rounded number, half its last unit, and the first three that it may be, in two units."""
    text, unit = Decimal(f"{one.value:.{digits - 1}e}"), one.of.unit
    forms = [(f"{unit.replace('·', ' ')}" if unit in OTHER else "", 0)]
    for spelt, power in (*forms, OTHER.get(unit, forms[0])):
        amount = call.read_amount(f"{text.scaleb(power):f} {spelt}")
        first = matches(same, amount.number, 3, amount.zeros)[:3]
        yield text, Decimal(1).scaleb(text.as_tuple().exponent) / 2, [each.found for each in first]


def counted(known, depths, digits, every):
    """How many are found and how many not, of every so manieth."""
    count = Counter()
    counts = [e for e in known if e.depth in depths and e.value and not e.numbers]
    for one in counts[::every]:
        same = [each for each in known if each.of.id == one.of.id]
        for text, half, first in traced(one, same, digits):
            met = any(each is one for each in first)
            count[met] += 1
            if one.depth == 1 and not met:  # the digits alone can't tell it from three others
                alike = [abs(abs(Decimal(each.value)) - abs(text)) <= half for each in first]
                assert alike == [True] * 3, (one, text)
    return count


@pytest.mark.parametrize(
    ("depths", "digits", "share"),
    [({1}, 2, 0.98), ({1}, 3, 0.999), ({1}, 4, 1.0), ({2, 3}, 3, 0.95), ({2, 3}, 4, 0.99)],
)
def test_mistakes_are_among_the_first_three(depths, digits, share, thorough):
    count, every = Counter(), (1 if thorough else 3) * (1 if depths == {1} else 10)
    for known in (*(known for _, known in labs().values()), *variants(16 if thorough else 0)):
        count += counted(known, depths, digits, every)
    assert count[True] >= share * count.total() > 200


def test_what_cannot_be_in_a_set_up_is_not_listed():
    for lab, (scenario, known) in labs().items():
        right = {(each.of.id, each.value) for each in known if each.depth == 0}
        wrong = [each for each in known if each.depth]
        assert not [each for each in wrong if (each.of.id, each.value) in right], lab
        words = " ".join(str(each.slip.done) for each in wrong if each.slip)
        rubs = any(surface.friction.value for surface in scenario.surfaces.values())
        assert rubs or "riction" not in words, lab


def test_mistakes_of_measuring_are_known():
    ids = {each.slip.id for each in labs()["level-track"][1] if each.slip}
    assert ids >= {"T13", "T20", "V14", "D5", "S1", "S2", "S3", "S6", "S9", "S10"}


def test_on_a_run_that_turns_round_each_part_is_taken_for_the_other():
    scenario, known = labs()["push-away"]
    cart, weight, run = (*map(scenario.objects.get, ("cart", "weight")), scenario.run)
    m, h, mu = cart.mass.value, weight.mass.value, scenario.surfaces["track"].friction.value
    start, far = abs(run.speed.value), run.distance.value
    out, back = ((h + sign * mu * m) * 9.80665 / (m + h) for sign in (1, -1))
    turned, time = start**2 / 2 / out, start / out
    whole = turned + far
    speed = (2 * back * whole) ** 0.5
    by_hand = {name: float(value) for name, value in locals().items() if isinstance(value, float)}
    told = {(of, f"{eval(value, by_hand):.6g}") for of, value in cases(__file__, "turned")}
    assert told <= {(each.of.id, f"{each.value:.6g}") for each in known if each.depth == 1}
