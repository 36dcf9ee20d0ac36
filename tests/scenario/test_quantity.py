"""Quantities: units against a units library, uncertainties against the GUM, digits; and dates, by
the IANA time zone database, whose changes of clocks are facts (from memory).
"""

import math
import re
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fallwork.scenario.dates import first_moment, read_date
from fallwork.scenario.quantity import as_written, in_si, kinds, kinds_of_unit, parse_quantity
from fallwork.scenario.report import Refusal
from scenario import kit

REGISTRY: pint.UnitRegistry[float] = pint.UnitRegistry()
UNITS = [
    *[(name, unit) for name, kind in kinds().items() for unit in (*kind.factors, *kind.also)],
    *[("acceleration", "m/s^2"), ("acceleration", "cm/s2"), ("inertia", "kg·m²")],
    *[("inertia", "g cm^2"), ("torque", "mN·m"), ("torque", "\u03bcN·m")],
]
QUANTITIES = kit.table("quantities")
NUMBERS = st.from_regex(r"[+−-]?[0-9]{1,4}(\.[0-9]{1,4})?(e-?[0-9])?", fullmatch=True)
SPREADS = st.from_regex(r" ± [0-9]{1,2}(\.[0-9]{1,2})? (kg|g|mg)( limits)?", fullmatch=True)
MASSES = st.tuples(NUMBERS, st.sampled_from([" kg", " g", " mg"]), SPREADS).map("".join)
ANY = st.tuples(st.text(max_size=30), st.sampled_from(sorted(kinds())))
DATES = kit.table("dates")
ZONES = ["Europe/Zurich", "America/Santiago", "Africa/Cairo", "Asia/Beirut", "Australia/Lord_Howe"]


def in_pint(unit: str) -> pint.Unit:
    """The unit library's own reading of a spelling of the table."""
    return REGISTRY.Unit(re.sub(r"\^?[2²]$", "**2", re.sub("[ ·]", "*", unit)))


@pytest.mark.parametrize(("kind", "unit"), UNITS)
def test_a_unit_is_what_the_units_library_says(kind, unit):
    # Oracle: pint's unit registry (NIST and CODATA definitions).
    si = in_pint(kinds()[kind].si_unit)
    by_pint = REGISTRY.Quantity(1.25, in_pint(unit)).to(si).magnitude
    assert parse_quantity(f"1.25 {unit}", kind).value == pytest.approx(by_pint, rel=1e-15)


def test_each_unit_belongs_to_one_kind_of_quantity():
    assert [unit for _, unit in UNITS if len(kinds_of_unit(unit)) != 1] == []


@pytest.mark.parametrize(("kind", "text"), [(k, t) for k in QUANTITIES for t in QUANTITIES[k]])
def test_a_quantity_is_given_back_as_written_and_with_that_precision_in_si(kind, text):
    quantity = parse_quantity(text, kind)
    assert f"{as_written(quantity)}; {' '.join(in_si(quantity))}".strip() == QUANTITIES[kind][text]


@given(st.decimals(min_value=-9999, max_value=9999, places=4))
def test_si_digits_are_exact(number):
    digits, unit = in_si(parse_quantity(f"{number} g", "mass"))
    assert (Decimal(digits), unit) == (number / 1000, "kg")


def test_limits_and_standard_uncertainties():
    # JCGM 100:2008, 4.3.7, example 1 (from memory): 16.52e-6 within 0.40e-6 gives u = 0.23e-6.
    expansion = parse_quantity("16.52e-6 ± 0.40e-6 limits", "coefficient")
    assert f"{expansion.u:.2g}" == "2.3e-07"
    slope = parse_quantity("0 deg ± 0.05 deg", "angle")
    assert slope.u == pytest.approx(0.05 * math.pi / 180, rel=1e-15)


@given(
    st.tuples(st.text(max_size=30), st.sampled_from(sorted(kinds())))
    | st.tuples(MASSES, st.just("mass"))
)
def test_any_text_is_read_or_refused_and_written_as_it_was_read(given):
    text, kind = given
    try:
        quantity = parse_quantity(text, kind)
    except Refusal:
        return
    assert parse_quantity(as_written(quantity), kind) == quantity


# ---- dates in the course's time zone, the change of clocks included
@pytest.mark.parametrize("given", DATES)
def test_a_date_counts_in_the_zone_of_the_course_or_is_refused(given):
    text, zone = given.split()
    try:
        moment = read_date(text, ZoneInfo(zone))
        told = f"{moment.isoformat()} {moment.tzinfo}"
    except Refusal as error:
        told = str(error)
    assert {DATES[given] in told, zone in told} == {True}


@given(st.sampled_from(ZONES), st.dates(min_value=date(2000, 1, 1), max_value=date(2037, 12, 31)))
def test_no_moment_of_a_day_comes_before_its_first(zone, day):
    # Oracle: the local date a second before, found from UTC, is another one.
    begins = first_moment(day, ZoneInfo(zone)).astimezone(UTC)
    before = (begins - timedelta(seconds=1)).astimezone(ZoneInfo(zone))
    assert begins.astimezone(ZoneInfo(zone)).date() == day
    assert before.date() < day


@given(st.sampled_from(ZONES), st.datetimes(datetime(2000, 1, 1), datetime(2037, 12, 31)))
def test_a_time_is_accepted_if_it_names_exactly_one_moment(zone, wall):
    # Oracle: count the moments of UTC that show this wall time, in steps of 15 minutes.
    wall = wall.replace(minute=wall.minute // 15 * 15, second=0, microsecond=0)
    around = datetime(wall.year, wall.month, wall.day, wall.hour, wall.minute, tzinfo=UTC)
    moments = [around + timedelta(minutes=15 * step) for step in range(-60, 61)]
    shows = [m for m in moments if m.astimezone(ZoneInfo(zone)).replace(tzinfo=None) == wall]
    try:
        read = [read_date(f"{wall:%Y-%m-%dT%H:%M}", ZoneInfo(zone)).astimezone(UTC)]
    except Refusal:
        read = []
    assert read == (shows if len(shows) == 1 else [])
