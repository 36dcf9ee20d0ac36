"""The colours can be told from the page, in light and in dark.

Contrast as WCAG 2.2 defines it (w3.org/TR/WCAG22, "relative luminance" and "contrast ratio", read);
4.5 : 1 for text is success criterion 1.4.3, 3 : 1 for graphics is 1.4.11.
"""

import re
from itertools import product

import pytest

from fallwork.figures import Role, Use, palette

SCHEMES = ("light", "dark")
GROUNDS = [role for role in palette().values() if role.use is Use.GROUND]


def luminance(colour: str) -> float:
    channels = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    darker, lighter = sorted((luminance(one), luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)


@pytest.mark.parametrize(
    ("colour", "expected"),
    [("#0000ff", 8.59), ("#767676", 4.54), ("#949494", 3.03), ("#ffffff", 1.0)],
)
def test_the_formula_gives_the_values_that_are_published(colour: str, expected: float) -> None:
    # Blue on white 8.59: Understanding WCAG 1.4.3 (read); #767676 and #949494 are the usual
    # examples of the lightest greys that pass (common practice).
    assert contrast(colour, "#ffffff") == pytest.approx(expected, abs=0.005)


@pytest.mark.parametrize("scheme", SCHEMES)
@pytest.mark.parametrize("role", [r for r in palette().values() if r.use is Use.TEXT], ids=str)
def test_words_can_be_read_on_every_ground(role: Role, scheme: str) -> None:
    for ground in GROUNDS:
        assert contrast(getattr(role, scheme), getattr(ground, scheme)) >= 4.5


@pytest.mark.parametrize("scheme", SCHEMES)
@pytest.mark.parametrize("role", [r for r in palette().values() if r.use is Use.GRAPHIC], ids=str)
def test_lines_can_be_seen_on_the_page(role: Role, scheme: str) -> None:
    assert contrast(getattr(role, scheme), getattr(palette()["paper"], scheme)) >= 3.0


def test_each_light_colour_names_one_role() -> None:
    lights = [role.light for role in palette().values()]
    assert len(set(lights)) == len(lights)


def test_colours_are_written_in_one_way() -> None:
    for role, scheme in product(palette().values(), SCHEMES):
        assert re.fullmatch("#[0-9a-f]{6}", getattr(role, scheme))


def test_a_colour_in_a_figure_is_the_page_s_variable() -> None:
    assert palette()["ink"].css == "var(--fw-ink, #20262e)"
