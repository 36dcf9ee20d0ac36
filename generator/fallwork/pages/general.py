"""The pages that stand once a course and to which every lab leads.

Takes the context; gives them, each from a template of its name. A page of the author's own with
the same name takes the place of one.
"""

from collections.abc import Iterator
from typing import Any

from fallwork.lesson.words import texts
from fallwork.measurement.statistics import coverage_factor
from fallwork.pages.context import Context
from fallwork.pages.markdown import PageFile
from fallwork.scenario import as_written

GENERAL = {  # name -> title, and what the page is about
    "reading": (
        "How to read a worked step",
        "How a worked step is built, and how its signs, symbols and digits are meant",
    ),
    "safety": ("Working safely", "What to watch with carts, strings and falling masses"),
    "uncertainty": (
        "Uncertainty, and when values agree",
        "How uncertain a mean, a line or a prediction is, and the one rule by which values agree",
    ),
}
_ASKED: dict[str, Any] = {  # what templates of theirs ask for
    "as_written": as_written,
    "coverage_factor": coverage_factor,
    "impacts": texts("impacts"),
}


def general_pages(site: Context) -> Iterator[PageFile]:
    """All of them."""
    for name, (title, about) in GENERAL.items():
        front = {"title": title, "description": about, "nav": True}
        yield site.page(f"{name}.md", name, front, **_ASKED)
