"""What scripts of a page calculate with, as JSON in parts: what makes up any choice of system, on
prelab and report relations between quantities, on the solution the formulas of its results.

Takes a page of a lab; what stands on it is the templates'. A formula that is shown stands between
dollars, as LaTeX.
"""

import json
from collections.abc import Iterable, Mapping
from functools import cache
from typing import Any

from fallwork.errors import table
from fallwork.lesson.build import CHOICES
from fallwork.lesson.document import Lesson, Step
from fallwork.lesson.expression import Symbol, symbols_in
from fallwork.lesson.lab import Lab
from fallwork.lesson.latex import latex
from fallwork.lesson.printer import UNMARKED, Marks
from fallwork.lesson.reworking import Related, Reworking, quantities, relations, reworked
from fallwork.lesson.trees import as_data
from fallwork.pages.context import LabPage
from fallwork.pages.schedule import PRELAB, REPORT, SOLUTION
from fallwork.scenario.quantity import kinds

_SCRIPTS = {  # that each part needs, in their order
    "system": ("trees", "choose"),
    "relations": ("trees", "own", "relations"),
    "working": ("trees", "own", "working"),
}


def data_of(page: LabPage, told: Iterable[Step] = ()) -> dict[str, Any]:
    """For the front matter of a page on which these steps are told; empty where it has none."""
    chosen = any(step.id == CHOICES and step.folds for step in told)
    every = (
        ("system", page.shown.lesson.choosing if chosen else None),
        ("relations", _relations(page)),
        ("working", working_on(page)),
    )
    parts = {name: part for name, part in every if part}
    if not parts:
        return {}
    data = {"lab": page.given.folder, "words": words_for(parts), **parts}
    text = json.dumps(
        data, ensure_ascii=False, separators=(",", ":"), default=lambda tree: f"${latex(tree)}$"
    )
    scripts = dict.fromkeys(script for name in parts for script in _SCRIPTS[name])
    return {"fw_data": text, "fw_scripts": [*scripts]}


def words_for(parts: Iterable[str]) -> dict[str, Any]:
    """What the scripts of these parts say, and the units that they take."""
    said = table("pages", "words")["scripts"]
    return {name: said[name] for name in ("unread", *parts)} | {"powers": _powers()}


@cache
def _powers() -> dict[str, Any]:
    """Of ten, by the unit of a quantity and each unit that files may give it in."""
    found = dict[str, Any]()
    for kind in kinds().values():
        units = {_spelt(unit): factor for unit, factor in kind.factors.items()}
        if None not in units.values():  # of degrees pages have another table
            powers = {unit: factor.adjusted() for unit, factor in units.items() if factor}
            found[_spelt(kind.si_unit)] = powers
    found |= table("pages", "words")["scripts"]["powers"]
    return found


def _spelt(unit: str) -> str:
    """As pages spell a unit."""
    return unit.replace(" ", "·").replace("\u00b5", "\u03bc")


def checked(page: LabPage) -> tuple[Related, ...]:
    """The relations that a page offers for check: what the prelab says, in symbols."""
    there = page.sub in (PRELAB, REPORT) and not page.given.withdrawn
    return relations(_prelab(page)) if there else ()


def asked_for(page: LabPage, related: tuple[Related, ...]) -> tuple[Symbol, ...]:
    """What a reader types there, in the order of the table."""
    return quantities(_prelab(page), related)


def _prelab(page: LabPage) -> Lesson:
    return page.given.page(PRELAB).shown.lesson


def _relations(page: LabPage) -> Mapping[str, Any]:
    """Rows of the two tables, in their order."""
    if not (every := checked(page)):
        return {}
    return {
        "quantities": [[symbol.id, symbol.unit] for symbol in asked_for(page, every)],
        "relations": [[as_data(side) for side in relation.sides] for _, relation in every],
    }


def steps_of_prelab(page: LabPage) -> frozenset[str]:
    """Those that no trial adds to."""
    return frozenset(step.id for step in _prelab(page).steps)


def reworked_on(page: LabPage) -> Reworking | None:
    """The solution's working, where other numbers can be put into it; without the trials'."""
    if page.sub is not SOLUTION or page.given.withdrawn:
        return None
    base = steps_of_prelab(page)
    steps = [step for step in page.shown.lesson.steps if step.id in base]
    return reworked(page.shown.setup.seen_as(Lab), steps)


def marks_of(page: LabPage) -> Marks:
    """How a script finds the numbers of the page."""
    found = reworked_on(page)
    return found.marks if found else UNMARKED


def working_on(page: LabPage) -> Mapping[str, Any]:
    """Values in the units of their symbols; rows of the givens, in their order."""
    if (working := reworked_on(page)) is None:
        return {}
    needed = (symbol for tree in working.conditions for symbol in symbols_in(tree))
    every = dict.fromkeys((*working.symbols, *needed))
    givens = page.shown.lesson.givens
    return {
        "digits": page.shown.digits,
        "symbols": [[each.id, each.unit, each.figures, each.meaning] for each in working.symbols],
        "givens": [given.symbol.id for given in givens if given.symbol is not None],
        "values": {each.id: [each.value, each.unit, each.written] for each in every if each.given},
        "results": [
            [each.result.id if each.result else None, as_data(each.last), each.in_unit]
            for each in working.results
        ],
        "others": [[id_, as_data(tree)] for id_, tree in working.others.items()],
        "conditions": [as_data(tree) for tree in working.conditions],
        "earlier": page.given.site.staff,
    }
