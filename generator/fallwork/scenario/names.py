"""Rules for names and ids: they become parts of addresses that last.

Takes a text; gives it back, or raises UnreadableError with a name that would do.
"""

import re

from fallwork.scenario.nouns import BENCH, EARTH, is_plural, word_lists
from fallwork.scenario.report import UnreadableError, shown

NAME = r"[a-z][a-z0-9]*(?:-[a-z0-9]+)*"
LONGEST_NAME = 40
RESERVED_TERMS = ("assets", "search", "step")  # folders of the site that are no term
_NOUN = re.compile(r"[^\W\d_]\w*(?:['’-]\w+)*(?: \w+(?:['’-]\w+)*)*")
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


def noun(text: str) -> str:
    """What texts may call an object; raises UnreadableError."""
    first, _, rest = text.partition(" ")
    if first.lower() in word_lists()["articles"]:
        found, expected = (
            "a noun with its article",
            f"leave it out: write {rest or 'e.g. red cart'}",
        )
    elif not _NOUN.fullmatch(text) or len(text) > LONGEST_NAME:
        found = f"{shown(text)} where a noun should stand"
        expected = f"letters, digits and single blanks, at most {LONGEST_NAME}, e.g. red cart"
    elif is_plural(text.split(" ")[-1].lower()):
        found, expected = "a noun in the plural", f"an object is one: write e.g. set of {text}"
    elif text.lower() in (EARTH.lower(), BENCH):
        found, expected = f"the noun {shown(text)} belongs to something else", "choose another"
    else:
        return text
    raise UnreadableError(found, expected)


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
