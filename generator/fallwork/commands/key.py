"""The answer key of one scenario, for people or for programs.

Takes what was typed; gives the text to print.
"""

import json
from collections.abc import Sequence

from fallwork.commands.keyjson import key_data
from fallwork.commands.keytable import key_table
from fallwork.commands.sources import key_source
from fallwork.mechanics import apparatus_of, solve


def answer_key(typed: str, *, term: str | None, numbers: Sequence[str], as_json: bool) -> str:
    """The key as a table, or as JSON (SI, unrounded)."""
    scenario, calculation = key_source(typed, term=term, numbers=numbers)
    apparatus = apparatus_of(scenario, calculation.gravity)
    solution = solve(apparatus)
    if as_json:
        data = key_data(scenario.id, apparatus, solution)
        return json.dumps(data, indent=2, ensure_ascii=False, allow_nan=False)
    return key_table(scenario, apparatus, solution, figures=calculation.figures)
