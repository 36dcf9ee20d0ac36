"""The results and the slips of a lesson as tables for those who answer and mark.

Takes a lesson with numbers; gives Markdown.
"""

from markupsafe import Markup

from fallwork.lesson import letters
from fallwork.lesson.answers import Found, results, slips, tolerance
from fallwork.lesson.document import Lesson
from fallwork.lesson.latex import latex
from fallwork.lesson.rounding import rounded
from fallwork.pages.blocks import formula, pipe_table, text
from fallwork.pages.escape import plain


def tolerance_in_words(digits: int) -> str:
    """The rule by which results are accepted, for the page."""
    return f"one part in {round(1 / tolerance(digits))}"


def answer_table(lesson: Lesson, digits: int) -> Markup:
    """Each result with the range that is accepted for it, and the step that works it out."""
    rows = [
        [_quantity(one), _amount(one, digits), _range(one, digits), _step_link(one)]
        for one in results(lesson)
    ]
    return _table("Answers", ("Quantity", "Value", "Accepted", "Step"), rows)


def lookup_table(lesson: Lesson, digits: int) -> Markup:
    """Every number that somebody may bring, right ones and slips, the smallest size first."""
    known = sorted((*results(lesson), *slips(lesson)), key=lambda one: abs(one.value))
    rows = [[_amount(one, digits), _quantity(one), _done(one), _step_link(one)] for one in known]
    return _table("Numbers that come up", ("Number", "Of", "What was done", "Step"), rows)


def slip_table(lesson: Lesson, digits: int) -> Markup:
    """What slips give, in the order of the steps."""
    rows = [
        [_quantity(one), _amount(one, digits), _done(one), _step_link(one)] for one in slips(lesson)
    ]
    return _table("Slips", ("Quantity", "Gives", "What was done", "Step"), rows)


def _table(caption: str, head: tuple[str, ...], rows: list[list[Markup]]) -> Markup:
    return pipe_table(plain(caption), [plain(words) for words in head], rows)


def _quantity(one: Found) -> Markup:
    return Markup(f"{plain(one.of.meaning)}, {formula(latex(one.of))}")


def _done(one: Found) -> Markup:
    return Markup("This is right.") if one.slip is None else text(one.slip.done)


def _amount(one: Found, digits: int) -> Markup:
    return formula(rounded(one.value, digits).latex + letters.unit(one.unit).latex)


def _range(one: Found, digits: int) -> Markup:
    low, high = sorted(one.value * (1 + sign * tolerance(digits)) for sign in (-1, 1))
    last = rounded(high, digits).latex + letters.unit(one.unit).latex
    return Markup(f"{formula(rounded(low, digits).latex)} to {formula(last)}")


def _step_link(one: Found) -> Markup:
    return Markup(f"[{plain(one.step.title)}](solution.md#{one.step.id})")
