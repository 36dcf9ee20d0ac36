"""The pages of a lab that was taken down: one sentence each, and every address that was there.

Takes a lab that is withdrawn; gives its pages.
"""

from collections.abc import Iterator, Sequence

from fallwork.pages.context import Context
from fallwork.pages.environment import page
from fallwork.pages.given import GivenLab
from fallwork.pages.meta import lab_meta
from fallwork.pages.model import PageFile
from fallwork.pages.standing import standing


def withdrawn_pages(context: Context, given: GivenLab) -> Iterator[PageFile]:
    """The overview and every page that had been open."""
    yield _page(context, given, "index", given.title, ())
    for each in standing(context, given):
        title = each.heading
        kept = [*(step.id for step in each.steps), *(step.id for step in each.former)]
        yield _page(context, given, each.sub.name, title, kept)


def _page(
    context: Context, given: GivenLab, name: str, title: str, anchors: Sequence[str]
) -> PageFile:
    withdrawal = given.lab.withdrawn
    assert withdrawal is not None
    return page(
        f"{given.folder}/{name}.md",
        "withdrawn",
        meta=lab_meta(
            context,
            given,
            "overview" if name == "index" else name,
            title=title,
            description=f"{title}, {given.term.title}: taken down",
            nav=name == "index",
        ),
        title=title,
        day=context.say_day(withdrawal.at),
        because=withdrawal.because,
        anchors=anchors,
    )
