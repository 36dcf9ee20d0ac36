"""How well the results of a lesson are known, and the one rule for saying so.

Takes steps and the standard uncertainties of their results; gives the steps with a sentence where
the givens leave more than the last figure of a result open. Each result is told of once.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace

from fallwork.lesson.document import Paragraph, Step, Text, Working
from fallwork.lesson.expression import Ref, Symbol
from fallwork.lesson.rounding import claims_too_much, with_uncertainty
from fallwork.lesson.words import join, say, series


def with_uncertainties(
    steps: Iterable[Step], known: Mapping[str, float], figures: int
) -> Iterator[Step]:
    """The steps; ``known`` has standard uncertainties by symbol id, in the symbol's unit."""
    told: set[str] = set()
    for step in steps:
        results = dict.fromkeys(
            symbol
            for symbol in (equation.result for equation in step.equations)
            if symbol is not None
            and symbol.id not in told
            and symbol.value is not None
            and not symbol.given
            and claims_too_much(symbol.value, known.get(symbol.id, 0.0), figures)
        )
        told |= {symbol.id for symbol in results}
        named: list[Text] = [(Ref(symbol=s), f" = {_uncertain(s, known[s.id])}") for s in results]
        paragraph = Paragraph(text=join(say("uncertainty"), (*series(named), ".")))
        working = [at for at, each in enumerate(step.blocks) if isinstance(each, Working)]
        below = working[-1] + 1 if named else len(step.blocks)  # the last equation
        told_here = (paragraph,) if named else ()
        yield replace(step, blocks=(*step.blocks[:below], *told_here, *step.blocks[below:]))


def _uncertain(symbol: Symbol, u: float) -> str:
    """E.g. ``0.040 N ± 0.010 N``, on one line."""
    printed = with_uncertainty(symbol.value or 0.0, u).plus_minus(symbol.unit)
    return printed.replace(" °", "°").replace(" ", "\u00a0")
