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
        raise UnreadableError("long-name", what=what, text=shown(text), most=LONGEST_NAME)
    plain = re.sub("[^a-z0-9]+", "-", text.lower()).strip("-")
    right = plain if re.fullmatch(NAME, plain) else "e.g. cart-a"
    raise UnreadableError("name", what=what, text=shown(text), right=right)


def noun(text: str) -> str:
    """What texts may call an object; raises UnreadableError."""
    first, _, rest = text.partition(" ")
    if first.lower() in word_lists()["articles"]:
        raise UnreadableError("article", right=rest or "e.g. red cart")
    if not _NOUN.fullmatch(text) or len(text) > LONGEST_NAME:
        raise UnreadableError("no-noun", text=shown(text), most=LONGEST_NAME)
    if is_plural(text.split(" ")[-1].lower()):
        raise UnreadableError("plural", text=text)
    if text.lower() in (EARTH.lower(), BENCH):
        raise UnreadableError("noun-taken", text=shown(text))
    return text


def lab_id(text: str, what: str) -> str:
    """An id that can stand in an address; raises UnreadableError."""
    if re.fullmatch(ID, text):
        return text
    plain = re.sub("[^a-z0-9]+", "-", text.lower()).strip("-")
    raise UnreadableError("id", what=what, text=shown(text), right=plain or "level-track")


def term_id(text: str, what: str) -> str:
    """An id of a term, whose pages stand directly below the site; raises UnreadableError."""
    if text in RESERVED_TERMS:
        raise UnreadableError("id-taken", what=what, text=shown(text))
    return lab_id(text, what)
