"""Finds the quantity of a lesson that somebody named.

Takes words such as ``tension``, ``T`` or ``final speed``; gives symbols.
"""

from collections.abc import Iterable

from fallwork.errors import FallworkError
from fallwork.lesson.expression import Symbol
from fallwork.lesson.plain import plain
from fallwork.scenario.report import meant, shown


class UnknownQuantityError(FallworkError):
    """A name that stands for no quantity of the lesson, or for several."""

    def __init__(self, name: str, known: Iterable[Symbol], several: bool) -> None:
        self.name = name
        self.known = tuple(known)
        self.several = several
        super().__init__(name, self.known, several)

    def __str__(self) -> str:
        all_ = "; ".join(f"{symbol.id} ({symbol.meaning})" for symbol in self.known)
        if self.several:
            return f"{shown(self.name)} may be several quantities; write one of {all_}"
        words = [each for symbol in self.known for each in (symbol.id, symbol.meaning)]
        hint = meant(self.name, words, f"there is {all_}")
        return f"no quantity is called {shown(self.name)}; {hint}"


def named_by(name: str, symbols: Iterable[Symbol]) -> tuple[Symbol, ...]:
    """The symbols that a name may mean, the closest kind of match alone: id, sign, words."""
    known = tuple(symbols)
    words = " ".join(name.lower().split())
    for fits in (
        lambda symbol: symbol.id.lower() == words,
        lambda symbol: plain(symbol) == name.strip(),
        lambda symbol: symbol.id.lower().partition(".")[0] == words.replace(" ", "-"),
        lambda symbol: symbol.meaning.lower().startswith(words),
        lambda symbol: words in symbol.meaning.lower(),
    ):
        found = tuple(symbol for symbol in known if fits(symbol))
        if found:
            return found
    return ()
