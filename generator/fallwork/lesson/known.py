"""How well the results of a lesson are known, and the one rule for saying so.

Takes steps and the standard uncertainties of their results; gives the steps with a sentence where
the givens leave more than the last figure of a result open. Each result is told of once.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace

from fallwork.lesson.document import Paragraph, Step, Text, Working
from fallwork.lesson.expression import Ref, Symbol
from fallwork.lesson.rounding import claims_too_much, with_uncertainty
from fallwork.lesson.words import sentence


def with_uncertainties(
    steps: Iterable[Step], known: Mapping[str, float], figures: int
) -> Iterator[Step]:
    """The steps; ``known`` has standard uncertainties by symbol id, in the symbol's unit."""
    told: set[str] = set()
    for step in steps:
        found = (equation.result for equation in step.equations)
        results = [
            (symbol, with_uncertainty(symbol.value, known[symbol.id]).plus_minus(symbol.unit))
            for symbol in dict.fromkeys(found)
            if symbol is not None and symbol.value is not None
            if symbol.id in known and symbol.id not in told and not symbol.given
            if claims_too_much(symbol.value, known[symbol.id], figures)
        ]
        told |= {symbol.id for symbol, _ in results}
        yield _with_sentence(step, results) if results else step


def _with_sentence(step: Step, results: list[tuple[Symbol, str]]) -> Step:
    """With e.g. ``T = 0.040 N ± 0.010 N`` below the last equation."""
    text: Text = (sentence("uncertainty"),)
    for at, (symbol, value) in enumerate(results):
        sign = " " if not at else " and " if at == len(results) - 1 else ", "
        value = value.replace(" °", "°").replace(" ", "\u00a0")
        text = (*text[:-1], f"{text[-1]}{sign}", Ref(symbol=symbol), f" = {value}")
    paragraph = Paragraph(text=(*text[:-1], f"{text[-1]}."))
    last = max(at for at, block in enumerate(step.blocks) if isinstance(block, Working)) + 1
    return replace(step, blocks=(*step.blocks[:last], paragraph, *step.blocks[last:]))
