"""Results that the givens leave uncertain beyond their last figure, and how that is said."""

from math import radians

import pytest
from uncertainties import UFloat, ufloat
from uncertainties.umath import cos, sin, sqrt

from cases import cases
from fallwork.lesson.document import Lesson
from fallwork.lesson.known import uncertainties
from fallwork.lesson.rounding import claims_too_much
from fallwork.measurement.prediction import Case
from fallwork.scenario import Scenario, with_numbers
from lesson.kit import DEMO, ZOO, lab_of, lesson_from, scenario_of
from lesson.measured import kit
from lesson.measured.kit import level, prose, step, without_uncertainty

pytestmark = pytest.mark.in_full
SAYS = "With the uncertainties of the given values:"


def known(scenario: Scenario) -> dict[str, float]:
    return uncertainties(lab_of(scenario), lesson(scenario).steps, case_of(scenario))


def lesson(scenario: Scenario, *, numbers: bool = True) -> Lesson:
    return lesson_from(scenario, numbers=numbers, case=case_of(scenario))


def case_of(scenario: Scenario) -> Case:
    return Case(scenario=scenario, gravity=kit.GRAVITY)


def said(found: Lesson) -> list[str]:
    lines = [line for each in found.steps for line in prose(each).splitlines()]
    return [line.replace("\u00a0", " ") for line in lines if line.startswith(SAYS)]


@pytest.mark.parametrize(("value", "u", "too_much"), cases(__file__, "known"))
def test_a_result_claims_too_much_where_more_than_its_last_figure_is_uncertain(value, u, too_much):
    assert claims_too_much(value, u, 3) is too_much
    assert claims_too_much(-value, u, 3) is too_much


def test_such_a_result_is_stated_once_with_its_uncertainty():
    """By hand: a quarter of f = 0.008 × 0.512 kg × g and of its work over 0.600 m is uncertain; of
    F that and the tilt of 0.05° (0.0044 N), in quadrature 0.0110 N; a has it over 0.592 kg.
    """
    found = lesson(level(("cart.mass", "512 g ± 0.1 g")))
    assert prose(step(found, "newton-cart")).count(SAYS) == 1
    told = said(found)
    assert f"{SAYS} f = 0.040 N ± 0.010 N." in told
    way = "(one given value changed at a time)."
    assert f"{SAYS} F = 0.744 N ± 0.011 N and a = 1.257 m/s² ± 0.019 m/s² {way}" in told
    assert any(line.endswith("= −0.0241 J ± 0.0060 J.") for line in told)
    assert len(set(told)) == len(told)


def test_accelerations_are_stated_with_their_uncertainty_even_where_their_figures_hold():
    """0.002 cos 8° and 0.05° of g: 0.0194 and 0.0085 m/s²; 0.020 m/s² and 0.1 mm of 25.0 mm."""
    values = {
        "incline-up": "−1.481 m/s² ± 0.021 m/s²",
        "heavy-pulley": "56.21 rad/s² ± 0.83 rad/s²",
    }
    for of, value in values.items():
        assert value in " ".join(said(lesson(scenario_of(DEMO / f"{of}.yaml"))))


def test_uncertainties_of_results_are_those_of_another_library():
    """The closed formulas of the level track, in the `uncertainties` package."""
    m, w, mu = ufloat(0.4200, 0.0001), ufloat(0.0800, 0.0001), ufloat(0.008, 0.002)
    slope, d, g = ufloat(0, radians(0.05)), ufloat(0.600, 0.001 / 3**0.5), 9.80665
    f = mu * m * g * cos(slope)
    a = (w * g - f - m * g * sin(slope)) / (m + w)
    expected: dict[str, UFloat] = {
        "friction-force.cart": f,
        "acceleration": a,
        "tension.string": w * (g - a),
        "speed": sqrt(2 * a * d),
        "time": sqrt(2 * d / a),
        "work.friction of track on cart": f * d,
        "kinetic.cart": m * a * d,
    }
    found = known(level())
    for key, value in expected.items():
        assert found[key] == pytest.approx(value.std_dev, rel=0.01), key


def test_nothing_is_said_where_the_givens_are_exact_or_results_held_back():
    assert said(lesson(without_uncertainty(level()))) == []
    assert said(lesson(level(), numbers=False)) == []


def test_free_fall_is_no_more_uncertain_than_g_whose_last_bit_comes_out_otherwise():
    """With other masses -g differs by some units of its last bit, 9e-16 m/s²."""
    masses = {"counterweight": "300.0 g", "left-weight": "120.0 g", "right-weight": "160.0 g"}
    changes = {f"{name}.mass": f"{mass} ± 0.1 g" for name, mass in masses.items()}
    other = with_numbers(scenario_of(DEMO / "pulley-on-a-string.yaml"), changes)
    assert not any("9.80665" in line for line in said(lesson(other)))


def test_masses_at_the_limits_of_static_friction_are_as_uncertain_as_their_formulas_say():
    """By the `uncertainties` package: m_b (sin θ ± μ_s cos θ), whose symbols are givens only."""
    changes = {
        "block.mass": "325.0 g ± 1.0 g",
        "board.slope": "24.0 deg ± 0.5 deg",
        "board.static_friction": "0.25 ± 0.02",
    }
    held = with_numbers(scenario_of(ZOO / "incline-held.yaml"), changes)
    mass, mu = ufloat(0.325, 0.001), ufloat(0.25, 0.02)
    slope = ufloat(radians(24), radians(0.5))
    found = known(held)
    for key, value in {
        "mass.most": mass * (sin(slope) + mu * cos(slope)),
        "mass.least": mass * (sin(slope) - mu * cos(slope)),
        "mass.free": mass * sin(slope),
    }.items():
        assert found[key] == pytest.approx(value.std_dev, rel=0.01), key


def test_the_distance_of_coasting_has_half_the_difference_of_both_sides():
    """d (m_h - μ' m_c)/(μ' (m_c + m_h)), μ' = μ cos θ + sin θ; so far from a straight line in μ
    that one side alone gives a quarter less (JCGM 100:2008, 5.1.3, note 2, from memory).
    """

    def stop(m: float = 0.42, w: float = 0.08, mu: float = 0.008, slope: float = 0.0) -> float:
        grip = mu * cos(slope) + sin(slope)
        return float(0.6 * (w - grip * m) / (grip * (m + w)))

    halves = [
        (stop(m=0.4201) - stop(m=0.4199)) / 2,
        (stop(w=0.0801) - stop(w=0.0799)) / 2,
        (stop(mu=0.010) - stop(mu=0.006)) / 2,
        stop(slope=radians(0.05)) - stop(),  # downhill none is worked out
        stop() / 0.6 * 0.001 / 3**0.5,
    ]
    u = sum(half**2 for half in halves) ** 0.5
    assert known(level())["distance.coasting"] == pytest.approx(u, rel=1e-3)
