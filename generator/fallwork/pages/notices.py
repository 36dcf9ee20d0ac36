"""What a page says before anything else: that it is of an earlier term, an example, corrected.

Takes a page of a lab, or a term; gives sentences in Markdown, the most important one first.
"""

from collections.abc import Iterator

from markupsafe import Markup

from fallwork.pages.context import Context, GivenLab, LabPage
from fallwork.pages.escape import plain
from fallwork.pages.schedule import DATA, EXAMPLE, OVERVIEW, SOLUTION, STAFF_PAGES
from fallwork.planning.published import EXAMPLE as OF_EXAMPLE
from fallwork.planning.published import MEASURED, RESULTS
from fallwork.scenario import Correction, Term, as_written, fields_of

_EXAMPLE = Markup(
    "**The numbers on this page are not those of your lab.** They show how the calculation goes; "
    "the numbers that you are given stand in the [overview](index.md#givens)."
)


def of_term(site: Context, term: Term) -> Iterator[Markup]:
    """For the page of a term."""
    if site.is_earlier(term):
        yield _earlier(term, "../index.md", "What is on now")


def of_page(page: LabPage) -> Iterator[Markup]:
    """For a page of a lab."""
    given, site = page.given, page.given.site
    if site.staff and page.held_until:
        yield Markup(f"**Students can’t open this page before {plain(page.held_until)}.**")
    if given.earlier:
        newest = _newest(given)
        way = f"../../{newest.folder}/index.md" if newest else "../../index.md"
        words = "The same lab in its present form" if newest else "What is on now"
        yield _earlier(given.term, way, words)
    if page.sub is EXAMPLE:
        yield _EXAMPLE
    for index, correction in enumerate(given.lab.corrections):
        if _concerns(correction, page):
            yield Markup(
                f"**Corrected on {plain(site.say_day(correction.at))}**: "
                f"{_what(given, index)}. {plain(_sentence(correction.because))}"
            )


def version(page: LabPage) -> str:
    """Which version of its numbers a page shows, so that paper tells it too."""
    days = {each.at for each in page.given.lab.corrections if _concerns(each, page)}
    corrected = f", corrected on {page.given.site.say_day(max(days))}" if days else ""
    return f"Numbers of this page: version {1 + len(days)}{corrected}."


def _earlier(term: Term, way: str, words: str) -> Markup:
    return Markup(
        f"**This page is from an earlier term, {plain(term.title)}.** "
        f"Its numbers and dates are those of that term. [{words}]({way})"
    )


def _newest(given: GivenLab) -> GivenLab | None:
    """The same scenario in a term that isn't an earlier one."""
    same = (each for each in given.site.labs() if each.lab.scenario.id == given.lab.scenario.id)
    return next((each for each in same if not each.earlier), None)


def _concerns(correction: Correction, page: LabPage) -> bool:
    """Whether the page, or one that it introduces, shows what was corrected."""
    field = correction.field
    about = OF_EXAMPLE if field.startswith(OF_EXAMPLE) else field.partition(".")[0]
    return page.sub in _SHOWN_ON.get(about, (page.sub,))


_OF_SOLUTION = (OVERVIEW, SOLUTION, *STAFF_PAGES)
_SHOWN_ON = {
    OF_EXAMPLE: (OVERVIEW, EXAMPLE),
    RESULTS: _OF_SOLUTION,
    MEASURED: (DATA, *_OF_SOLUTION),
}


def _what(given: GivenLab, index: int) -> Markup:
    correction = given.lab.corrections[index]
    name = plain(field_in_words(correction.field))
    after = _after(given, index)
    if correction.was and after:
        return Markup(f"{name}, before {plain(correction.was)}, now {plain(after)}")
    return Markup(f"{name}, before {plain(correction.was)}") if correction.was else name


def _after(given: GivenLab, index: int) -> str:
    """What the correction put there: what the next one found, else what stands there now."""
    correction, *later = given.lab.corrections[index:]
    following = [each.was for each in later if each.field == correction.field]
    if following:
        return following[0]
    if correction.field.startswith(OF_EXAMPLE):
        fields = fields_of(given.site.example(given))
        return fields.get(correction.field.removeprefix(OF_EXAMPLE), "")
    gravity = given.site.data.course.gravity
    if correction.field == "course.gravity" and gravity:
        return as_written(gravity)
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
