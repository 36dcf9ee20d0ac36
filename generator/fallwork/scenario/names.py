"""Rules for names and ids: they become parts of addresses that last.

Takes a text; gives it back, or raises UnreadableError with a name that would do.
"""

import re

from fallwork.scenario.quantity import UnreadableError
from fallwork.scenario.report import shown

NAME = r"[a-z][a-z0-9]*(?:-[a-z0-9]+)*"
LONGEST_NAME = 40
RESERVED_TERMS = ("assets", "search", "step")  # folders of the site that are no term
ID = r"[a-z0-9]+(?:-[a-z0-9]+)*"


def object_name(text: str, what: str) -> str:
    """A name that can stand in an address; raises UnreadableError."""
    if re.fullmatch(NAME, text) and len(text) <= LONGEST_NAME:
        return text
    if len(text) > LONGEST_NAME:
        raise UnreadableError(
            f"{what} {shown(text)} is longer than {LONGEST_NAME} characters", "shorten it"
        )
    plain = re.sub("[^a-z0-9]+", "-", text.lower()).strip("-")
    hint = f"write {plain}" if re.fullmatch(NAME, plain) else "write e.g. cart-a"
    raise UnreadableError(
        f"{what} {shown(text)}",
        f"it becomes part of addresses: lower-case letters, digits and single hyphens, beginning "
        f"with a letter; {hint}",
    )


def lab_id(text: str, what: str) -> str:
    """An id that can stand in an address; raises UnreadableError."""
    if re.fullmatch(ID, text):
        return text
    plain = re.sub("[^a-z0-9]+", "-", text.lower()).strip("-")
    raise UnreadableError(
        f"{what} {shown(text)}",
        "it becomes part of addresses: lower-case letters, digits and single hyphens; "
        f"write {plain or 'level-track'}",
    )


def term_id(text: str, what: str) -> str:
    """An id of a term, whose pages stand directly below the site; raises UnreadableError."""
    if text in RESERVED_TERMS:
        raise UnreadableError(
            f"{what} {shown(text)}", "choose another: the site has other pages at that address"
        )
    return lab_id(text, what)
