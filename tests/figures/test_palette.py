"""The colours can be told from the page, in light and in dark.

Contrast as WCAG 2.2 defines it (w3.org/TR/WCAG22, "relative luminance" and "contrast ratio", read);
4.5 : 1 for text is success criterion 1.4.3, 3 : 1 for graphics is 1.4.11.
"""

import re

import pytest

from fallwork.figures import palette

ROLES = palette().values()
GROUNDS = [role.name for role in ROLES if role.use == "ground"]
NEEDED = {"text": (4.5, GROUNDS), "graphic": (3.0, ["paper"]), "ground": (1.0, ["paper"])}


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


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_words_can_be_read_on_every_ground_and_lines_be_seen_on_the_page(scheme: str) -> None:
    for role in ROLES:
        least, grounds = NEEDED[role.use]
        for ground in (getattr(palette()[name], scheme) for name in grounds):
            assert contrast(getattr(role, scheme), ground) >= least, role.name
        assert re.fullmatch("#[0-9a-f]{6}", getattr(role, scheme))


def test_each_light_colour_names_one_role_and_is_the_page_s_variable_in_a_figure() -> None:
    assert len({role.light for role in ROLES}) == len(ROLES)
    assert palette()["ink"].css == "var(--fw-ink, #20262e)"
