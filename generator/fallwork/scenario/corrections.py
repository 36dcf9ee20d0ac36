"""How corrections and withdrawals stand in a term file.

Takes nothing; gives their layout. What a correction accounts for is seen where pages are built.
"""

from collections.abc import Sequence
from datetime import datetime

from fallwork.scenario.model import Correction, Withdrawal
from fallwork.scenario.records import Field, Items, Record
from fallwork.scenario.shapes import Reading, Shape, Text
from fallwork.scenario.tree import Keys

_REASON = Text(what="a reason", example="the cart was weighed without its hook")


def corrections_shape(moment: Shape) -> Items:
    """Corrections, the oldest first."""
    return Items(
        what="the corrections",
        example='[{at: 2027-02-03, field: cart.mass, was: 507.3 g, because: "…"}]',
        at_least=0,
        item=Record(
            what="a correction",
            make=Correction,
            fields={
                "at": Field(shape=moment, says="When it was made", required=True),
                "field": Field(
                    shape=Text(
                        what="a field",
                        example="cart.mass",
                        pattern=r"^[a-z0-9-]+(?:\.[a-z0-9_-]+)*$",
                    ),
                    says="What was changed, e.g. cart.mass, example.cart.mass or results",
                    required=True,
                ),
                "was": Field(
                    shape=Text(what="a former value", example="507.3 g", or_number=True),
                    says="What had been published there",
                ),
                "because": Field(
                    shape=_REASON, says="The reason, shown on the pages", required=True
                ),
            },
        ),
    )


def withdrawal_record(moment: Shape) -> Record:
    """From when on and why."""
    return Record(
        what="a withdrawal",
        make=Withdrawal,
        fields={
            "at": Field(shape=moment, says="From when on", required=True),
            "because": Field(shape=_REASON, says="The reason, shown on the pages", required=True),
        },
    )


def check_corrections(
    corrections: Sequence[Correction | None], opens: datetime | None, path: Keys, reading: Reading
) -> None:
    """Corrections come in order, and none before the lab has opened."""
    before = opens
    for index, correction in enumerate(corrections):
        if correction is None or correction.at is None or before is None:
            continue
        if correction.at < before:
            reading.report.impossible(
                reading.values[(*path, str(index), "at")],
                "a correction before the lab opens"
                if before == opens
                else "a correction that is older than the one above it",
                "take it out: numbers that nobody has seen are changed without one"
                if before == opens
                else "put the oldest one first",
            )
        before = max(before, correction.at)
