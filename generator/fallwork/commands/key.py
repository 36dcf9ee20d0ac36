"""The answer key of one scenario, for people or for programs.

Takes what was typed; gives the text to print.
"""

import json
from collections.abc import Sequence

from fallwork.commands.given import data, table, what_follows
from fallwork.commands.keyjson import key_data
from fallwork.commands.keytable import key_table
from fallwork.commands.sources import key_source
from fallwork.measurement import Case, Estimate
from fallwork.mechanics import apparatus_of, solve


def answer_key(
    typed: str,
    *,
    term: str | None,
    numbers: Sequence[str],
    given: Sequence[str] = (),
    as_json: bool,
) -> str:
    """The key as a table, or as JSON (SI, unrounded), with what follows from values ``given``."""
    scenario, calculation = key_source(typed, term=term, numbers=numbers)
    apparatus = apparatus_of(scenario, calculation.gravity)
    solution = solve(apparatus)
    figures = calculation.figures
    found = what_follows(given, scenario, apparatus, solution, figures) if given else None
    if as_json:
        content = key_data(scenario, apparatus, solution)
        content |= data(*found) if found else {}
        return json.dumps(content, indent=2, ensure_ascii=False, allow_nan=False)
    case = Case(scenario=scenario, gravity=Estimate(value=calculation.gravity, u=0.0))
    lines = [key_table(case, apparatus, solution, figures=figures)]
    return "\n".join([*lines, *(table(*found, figures) if found else [])])
