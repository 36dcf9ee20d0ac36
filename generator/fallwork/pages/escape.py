"""Plain text made safe inside Markdown.

Takes what somebody wrote in a YAML file or the program put together; gives Markdown that reads
as exactly these characters: no HTML, link, emphasis, formula, template or table cell can come
out of it. Character references are used because Markdown and HTML read them alike.
"""

import re
import unicodedata
from functools import lru_cache

from markupsafe import Markup

_ALWAYS = frozenset('\\`*_{}[]<>&$|~^#"@')
_NAMED = {"&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;"}
# Characters that mean something only in some places: a colon before a word (short codes,
# addresses; not that of 17:00), a doubled dash, plus or equals sign, the dot of an address
# without a scheme.
_IN_PLACE = re.compile(
    r":(?=[^\s\d])|(?<!\d):(?=\d)|([-+=])(?=\1)|(?<=-)-|(?<=\+)\+|(?<==)=|(?<=\bwww)\.",
    re.IGNORECASE,
)
# What opens a block when it stands first on a line, and the dot or bracket of "1." and "1)".
_AT_START = re.compile(r"^\s*(?:(?P<sign>[-+=:!?%])|\d+(?P<dot>[.)])(?=\s|$))")
_BIDI = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


@lru_cache(maxsize=8192)  # the same words stand on many pages
def plain(text: str) -> Markup:
    """Markdown that shows ``text`` as it is, on one line."""
    clean = re.sub(" +", " ", "".join(" " if _hidden(sign) else sign for sign in text))
    special = {match.start() for match in _IN_PLACE.finditer(clean)}
    first = _AT_START.match(clean)
    if first:
        special.add(first.start("sign") if first["sign"] else first.start("dot"))
    return Markup(
        "".join(
            _reference(sign) if sign in _ALWAYS or at in special else sign
            for at, sign in enumerate(clean)
        )
    )


def _hidden(sign: str) -> bool:
    return sign in _BIDI or unicodedata.category(sign) in {"Cc", "Zl", "Zp"}


def _reference(sign: str) -> str:
    return _NAMED.get(sign, f"&#{ord(sign)};")
