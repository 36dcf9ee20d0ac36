"""How well the results of a lesson are known, and the one rule for saying so.

Takes steps and the standard uncertainties of their results; gives the steps with a sentence where
the givens leave more than the last figure of a result open. Each result is told of once.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace

from fallwork.lesson.document import Block, Paragraph, Step, Text, Working
from fallwork.lesson.expression import Ref, Symbol
from fallwork.lesson.rounding import claims_too_much, with_uncertainty
from fallwork.lesson.words import join, say, series

NO_BREAK = "\u00a0"


def with_uncertainties(
    steps: Iterable[Step], known: Mapping[str, float], figures: int
) -> Iterator[Step]:
    """The steps; ``known`` has standard uncertainties by symbol id, in the symbol's unit."""
    told: set[str] = set()
    for step in steps:
        results = dict.fromkeys(
            symbol
            for symbol in results_of(step.blocks)
            if symbol.id not in told and _is_vague(symbol, known, figures)
        )
        told |= {symbol.id for symbol in results}
        yield _with_sentence(step, [(symbol, known[symbol.id]) for symbol in results])


def results_of(blocks: Iterable[Block]) -> Iterator[Symbol]:
    """What the equations of a step state a value of."""
    for block in blocks:
        for equation in block.equations if isinstance(block, Working) else ():
            if equation.numbers and isinstance(equation.left, Ref):
                yield equation.left.symbol


def _is_vague(symbol: Symbol, known: Mapping[str, float], figures: int) -> bool:
    if symbol.value is None or symbol.given:
        return False
    return claims_too_much(symbol.value, known.get(symbol.id, 0.0), figures)


def _with_sentence(step: Step, results: list[tuple[Symbol, float]]) -> Step:
    """The sentence stands below the last equation."""
    if not results:
        return step
    named: list[Text] = [
        (Ref(symbol=symbol), f" = {uncertain(symbol, u)}") for symbol, u in results
    ]
    paragraph = Paragraph(text=join(say("uncertainty"), (*series(named), ".")))
    last = max(at for at, block in enumerate(step.blocks) if isinstance(block, Working)) + 1
    return replace(step, blocks=(*step.blocks[:last], paragraph, *step.blocks[last:]))


def uncertain(symbol: Symbol, u: float) -> str:
    """E.g. ``0.040 N ± 0.010 N``, on one line."""
    printed = with_uncertainty(symbol.value or 0.0, u).plus_minus(symbol.unit)
    return printed.replace(" °", "°").replace(" ", NO_BREAK)
