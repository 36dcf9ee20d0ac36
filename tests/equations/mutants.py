"""A page with one digit spoilt at a time, to show that no wrong digit can pass the checker."""

import re
from collections.abc import Iterator

from equations.page import formula_spans, list_spans, read
from equations.reading import states_relation

_TEXT = re.compile(r"<[^>]*>|&[^;\s]*;|(?P<text>.)", re.DOTALL)
_DIGITS = "0123456789"
_RAISED = "⁰¹²³⁴⁵⁶⁷⁸⁹"


def digits(html: str) -> list[int]:
    """Where digits stand in formulas and in the list of symbols (the meanings left out).

    On a page without values the formulas that state no relation are left out, and on one without
    relations the list too: nothing on the page says what is right there.
    """
    formulas = formula_spans(html)
    has_values = any(entry.literal for entry in read(html).entries.values())
    relations = [span for span in formulas if states_relation(html[slice(*span)])]
    spans = (formulas if has_values else relations) + (list_spans(html) if relations else [])
    return sorted({at for span in spans for at in _text_digits(html, *span)})


def mutants(html: str, *, step: int = 1, every: int = 1) -> Iterator[tuple[str, str]]:
    """(what was changed, the page) for each digit raised by ``step``; only each ``every``-th."""
    for at in digits(html)[::every]:
        for alphabet in (_DIGITS, _RAISED):
            if html[at] in alphabet:
                new = alphabet[(alphabet.index(html[at]) + step) % 10]
                around = html[max(0, at - 40) : at + 40]
                yield f"{html[at]} → {new} in …{around}…", html[:at] + new + html[at + 1 :]


def _text_digits(html: str, start: int, end: int) -> Iterator[int]:
    """Digits between tags, not inside them nor inside a character reference."""
    for match in _TEXT.finditer(html, start, end):
        if match["text"] and match["text"] in _DIGITS + _RAISED:
            yield match.start()
