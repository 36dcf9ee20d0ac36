"""What a page tells of corrections.

Takes a page of a lab; gives the corrections of what it shows, in words. The sentences around them
are the template's.
"""

from fallwork.pages.context import GivenLab, LabPage
from fallwork.pages.schedule import DATA, EXAMPLE, OVERVIEW, SOLUTION, STAFF_PAGES
from fallwork.planning.published import EXAMPLE as OF_EXAMPLE
from fallwork.planning.published import MEASURED, RESULTS
from fallwork.scenario import Correction, as_written, fields_of

_OF_SOLUTION = (OVERVIEW, SOLUTION, *STAFF_PAGES)
_SHOWN_ON = {  # the pages that show what a correction may be about, or introduce it
    OF_EXAMPLE: (OVERVIEW, EXAMPLE),
    RESULTS: _OF_SOLUTION,
    MEASURED: (DATA, *_OF_SOLUTION),
}
_TABLES = {RESULTS: "what is computed from the numbers", MEASURED: "the trials"}


def of_page(page: LabPage) -> list[Correction]:
    """The corrections of what the page, or one that it introduces, shows."""
    return [each for each in page.given.lab.corrections if _concerns(each.field, page)]


def _concerns(field: str, page: LabPage) -> bool:
    about = OF_EXAMPLE if field.startswith(OF_EXAMPLE) else field.partition(".")[0]
    return page.sub in _SHOWN_ON.get(about, (page.sub,))


def now(correction: Correction, given: GivenLab) -> str:
    """What a correction put there: what the next one found, else what stands there now; empty
    where it isn't one value.
    """
    field, said = correction.field, given.lab.corrections
    at = next(at for at, each in enumerate(said) if each is correction)
    following = [each.was for each in said[at + 1 :] if each.field == field]
    if following:
        return following[0]
    if field.startswith(OF_EXAMPLE):
        return fields_of(given.site.example(given)).get(field.removeprefix(OF_EXAMPLE), "")
    gravity = given.site.data.course.gravity
    if field == "course.gravity" and gravity:
        return as_written(gravity)
    return fields_of(given.lab.variant).get(field, "")


def in_words(field: str) -> str:
    """``example.cart.mass`` as ``worked example, cart, mass``."""
    start = "worked example, " if field.startswith(OF_EXAMPLE) else ""
    table, *names = field.removeprefix(OF_EXAMPLE).split(".")
    words = [_TABLES.get(table, table.replace("_", " ")), *(n.replace("_", " ") for n in names)]
    return start + ", ".join(words)
