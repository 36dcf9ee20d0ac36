"""A lab's variants as its pages show them: their numbers, and what comes out with them.

Takes a page of a lab; gives cells of tables and worked lessons. Results are the solution's, whether
it is open or not: only templates of pages that may show them ask.
"""

from collections.abc import Sequence
from dataclasses import replace

from fallwork.lesson.answers import Found, results
from fallwork.lesson.expression import Symbol
from fallwork.lesson.measured.words import given_in_words
from fallwork.pages.context import LabPage
from fallwork.pages.markdown import kept_together
from fallwork.pages.schedule import SOLUTION
from fallwork.pages.worked import Worked, findings_of
from fallwork.planning.conditions import Finding
from fallwork.scenario.numbers import numbers_of

_MAIN = ("acceleration", "static-friction-force", "tension", "speed", "time")


def numbers(page: LabPage) -> tuple[list[str], list[list[str]]]:
    """The heads and the rows of a table: of each variant the numbers in which any differs from the
    lab.
    """
    lab = page.given.lab
    own, sets = numbers_of(lab.variant), {n: numbers_of(s) for n, s in lab.variants.items()}
    every = dict.fromkeys((*own, *(path for each in sets.values() for path in each)))
    paths = [p for p in every if any(own.get(p) != each.get(p) for each in sets.values())]
    heads = [given_in_words(path, lab.variant.nouns) for path in paths]
    cells = ([name, *(each.get(p, "") for p in paths)] for name, each in sets.items())
    return heads, [[*map(kept_together, each)] for each in cells]


def worked(page: LabPage) -> dict[str, Worked]:
    """The solution with the numbers of each variant, by its id."""
    given = page.given
    return {
        name: given.site.worked(replace(given, lab=lab, variant=name), SOLUTION)
        for name, lab in given.lab.by_variant.items()
    }


def main_answers(page: LabPage) -> tuple[list[Symbol], dict[str, dict[str, Found]]]:
    """What students look for first, and by variant what comes out, by the ids of these."""
    lessons = {name: each.lesson for name, each in worked(page).items()}
    found = {name: {one.of.id: one for one in results(each)} for name, each in lessons.items()}
    every = {id_: one.of for each in found.values() for id_, one in each.items()}
    return [symbol for id_, symbol in every.items() if id_.partition(".")[0] in _MAIN], found


def review(page: LabPage) -> dict[str, Sequence[Finding]]:
    """The findings about the numbers of each variant."""
    lab, data = page.given.lab, page.given.site.data
    return {name: findings_of(each, data) for name, each in lab.by_variant.items()}
