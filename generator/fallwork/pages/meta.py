"""The front matter of pages, which tells the site what kind of page stands there.

Takes the context and what a page is; gives the keys. Pages of an earlier term, of what was taken
down and of the staff edition stay out of search engines; the first two also out of the site's
own search.
"""

from collections.abc import Mapping

from fallwork.pages import schedule
from fallwork.pages.context import STAFF_PAGES, Context
from fallwork.pages.given import GivenLab
from fallwork.scenario import Term

Meta = dict[str, object]

NOINDEX: Mapping[str, object] = {"robots": "noindex"}
UNSEARCHED: Mapping[str, object] = {"search": {"exclude": True}}


def course_meta(context: Context, kind: str, *, title: str, description: str, nav: bool) -> Meta:
    """For a page that belongs to the whole course."""
    meta: Meta = {"title": title, "description": description, "page": kind}
    if nav:
        meta["nav"] = True
    return meta | (_staff(context))


def term_meta(context: Context, term: Term, *, title: str, description: str) -> Meta:
    """For the page of a term."""
    meta: Meta = {"title": title, "description": description, "page": "term", "term": term.id}
    return meta | {"nav": True} | _staff(context) | _earlier(context, term)


def lab_meta(
    context: Context,
    given: GivenLab,
    kind: str,
    *,
    title: str,
    description: str,
    nav: bool = False,
) -> Meta:
    """For a page of a lab."""
    meta: Meta = {"title": title, "description": description, "page": kind}
    meta |= {"term": given.term.id, "lab": given.lab.id}
    if nav and not context.is_earlier(given.term):
        meta["nav"] = True
    hidden = _earlier(context, given.term)
    if schedule.is_withdrawn(given.lab, context.now):
        hidden = {**NOINDEX, **UNSEARCHED}
    return meta | _staff(context) | hidden | _for_staff(context, given, kind)


def _staff(context: Context) -> Meta:
    return {"staff": True, **NOINDEX} if context.staff else {}


def _earlier(context: Context, term: Term) -> Meta:
    return {**NOINDEX, **UNSEARCHED} if context.is_earlier(term) else {}


def _for_staff(context: Context, given: GivenLab, kind: str) -> Meta:
    """Which pages students haven't got, and which they will have only later."""
    if not context.staff:
        return {}
    if kind in STAFF_PAGES:
        return {"staff_only": True}
    until = context.held_until(given, kind)
    return {"held_until": until} if until else {}
