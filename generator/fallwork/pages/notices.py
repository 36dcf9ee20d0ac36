"""What a page says before anything else: that it is of an earlier term, an example, corrected.

Takes the context and a lab; gives sentences in Markdown, the most important one first.
"""

from collections.abc import Iterator

from markupsafe import Markup

from fallwork.pages.context import STAFF_PAGES, Context
from fallwork.pages.escape import plain
from fallwork.pages.given import GivenLab
from fallwork.pages.schedule import DATA, EXAMPLE, SOLUTION
from fallwork.planning.published import EXAMPLE as OF_EXAMPLE
from fallwork.planning.published import MEASURED, RESULTS
from fallwork.scenario import Correction, Term, as_written, fields_of

_EXAMPLE = Markup(
    "**The numbers on this page are not those of your lab.** They show how the calculation goes; "
    "the numbers that you are given stand in the [overview](index.md#givens)."
)


def of_term(context: Context, term: Term) -> tuple[Markup, ...]:
    """For the page of a term."""
    return tuple(_earlier(context, term, Markup("../index.md")))


def of_lab(context: Context, given: GivenLab, page: str) -> tuple[Markup, ...]:
    """For a page of a lab; ``page`` is its name in addresses."""
    newest = _newest(context, given)
    way = Markup(f"../../{newest.folder}/index.md" if newest else "../../index.md")
    return (
        *_held(context, given, page),
        *_earlier(context, given.term, way, same=newest is not None),
        *((_EXAMPLE,) if page == EXAMPLE.name else ()),
        *_corrections(context, given, page),
    )


def version(context: Context, given: GivenLab, page: str) -> Markup:
    """Which version of its numbers a page shows, so that paper tells it too."""
    days = {each.at for each in given.lab.corrections if _concerns(each, page)}
    line = f"Numbers of this page: version {1 + len(days)}"
    if days:
        line += f", corrected on {context.say_day(max(days))}"
    return plain(f"{line}.")


def _earlier(context: Context, term: Term, way: Markup, *, same: bool = False) -> Iterator[Markup]:
    if context.is_earlier(term):
        words = "The same lab in its present form" if same else "What is on now"
        yield Markup(
            f"**This page is from an earlier term, {plain(term.title)}.** "
            f"Its numbers and dates are those of that term. [{words}]({way})"
        )


def _held(context: Context, given: GivenLab, page: str) -> Iterator[Markup]:
    """For staff: what students don't see yet."""
    until = context.held_until(given, page)
    if context.staff and until:
        yield Markup(f"**Students can’t open this page before {plain(until)}.**")


def _newest(context: Context, given: GivenLab) -> GivenLab | None:
    """The same scenario in a term that isn't an earlier one."""
    for other in context.labs():
        if other.lab.scenario.id == given.lab.scenario.id and not context.is_earlier(other.term):
            return other
    return None


def _corrections(context: Context, given: GivenLab, page: str) -> Iterator[Markup]:
    for index, correction in enumerate(given.lab.corrections):
        if _concerns(correction, page):
            yield Markup(
                f"**Corrected on {plain(context.say_day(correction.at))}**: "
                f"{_what(context, given, index)}. {plain(_sentence(correction.because))}"
            )


def _concerns(correction: Correction, page: str) -> bool:
    """Whether the page, or one that it introduces, shows what was corrected."""
    field = correction.field
    about = OF_EXAMPLE if field.startswith(OF_EXAMPLE) else field.partition(".")[0]
    return page in _SHOWN_ON.get(about, (page,))


_OF_SOLUTION = ("index", SOLUTION.name, *STAFF_PAGES)
_SHOWN_ON = {
    OF_EXAMPLE: ("index", EXAMPLE.name),
    RESULTS: _OF_SOLUTION,
    MEASURED: (DATA.name, *_OF_SOLUTION),
}


def _what(context: Context, given: GivenLab, index: int) -> Markup:
    correction = given.lab.corrections[index]
    name = plain(field_in_words(correction.field))
    after = _after(context, given, index)
    if correction.was and after:
        return Markup(f"{name}, before {plain(correction.was)}, now {plain(after)}")
    return Markup(f"{name}, before {plain(correction.was)}") if correction.was else name


def _after(context: Context, given: GivenLab, index: int) -> str:
    """What the correction put there: what the next one found, else what stands there now."""
    correction, *later = given.lab.corrections[index:]
    following = [each.was for each in later if each.field == correction.field]
    if following:
        return following[0]
    if correction.field.startswith(OF_EXAMPLE):
        fields = fields_of(context.example(given))
        return fields.get(correction.field.removeprefix(OF_EXAMPLE), "")
    if correction.field == "course.gravity" and context.data.course.gravity:
        return as_written(context.data.course.gravity)
    return fields_of(given.lab.variant).get(correction.field, "")


def field_in_words(field: str) -> str:
    """``example.cart.mass`` as ``worked example, cart, mass``."""
    start = "worked example, " if field.startswith(OF_EXAMPLE) else ""
    rest = field.removeprefix(OF_EXAMPLE)
    table, _, name = rest.partition(".")
    if table in _TABLES:
        return start + _TABLES[table] + (f", {name}" if name else "")
    return start + rest.replace(".", ", ").replace("_", " ")


_TABLES = {RESULTS: "what is computed from the numbers", MEASURED: "the trials"}


def _sentence(text: str) -> str:
    whole = text[:1].upper() + text[1:]
    return whole if whole.endswith((".", "!", "?")) else f"{whole}."
