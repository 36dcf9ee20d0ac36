"""A lab's variants as its pages show them: their numbers, and what comes out with them.

Takes a page of a lab; gives cells of tables, results and mistakes. Results are the solution's,
whether it is open or not: only templates of pages that may show them ask.
"""

from collections.abc import Mapping
from math import copysign, isclose
from typing import Any

import numpy as np

from fallwork.lesson.answers import Found, answers_of, of_each, results, tolerance
from fallwork.lesson.build import build_lesson
from fallwork.lesson.expression import Symbol
from fallwork.lesson.known import given_symbols
from fallwork.lesson.lab.motion import Motion
from fallwork.lesson.measured.words import given_in_words
from fallwork.lesson.reviewing import Happening, happening
from fallwork.lesson.words import told
from fallwork.mechanics.course import gravity_of
from fallwork.once import once
from fallwork.pages.context import LabPage
from fallwork.pages.markdown import kept_together
from fallwork.pages.schedule import SOLUTION
from fallwork.planning.driven import columns
from fallwork.scenario import Course, CourseData, Lab, Scenario
from fallwork.scenario.numbers import numbers_of, quantities_of, values_of
from fallwork.scenario.report import Report, listed

_NOTHING = 1e-9  # SI; of a run, what is smaller is zero
_SHIFT, _NAMED = 0.01, 3  # relative, to see what numbers decide; answers that a sentence names
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


def found(page: LabPage) -> dict[str, tuple[Found, ...]]:
    """What the results and the mistakes of the solution come to with the numbers of each variant,
    by its id.
    """
    lab, course = page.given.lab, page.given.site.data.course
    if not lab.variants:
        return {}
    sets = {name: (each, gravity_of(course)) for name, each in lab.variants.items()}
    lesson = page.given.page(SOLUTION).shown.lesson
    return of_each(lesson, lab.variant, sets, course.significant_figures)


def typed(page: LabPage) -> dict[str, dict[str, str]]:
    """Of each variant the givens that it has for itself, by their ids, as they are typed."""
    lab, course = page.given.lab, page.given.site.data.course
    known = gravity_of(course), course.significant_figures
    own, *others = (
        {each.id: f"{each.written} {each.unit}".strip() for each in given_symbols(run)}
        for run in (happening(each, *known).seen_as(Motion) for each in lab.every_variant)
    )
    new = ({i: words for i, words in e.items() if own.get(i) != words} for e in others)
    return dict(zip(lab.variants, new, strict=True))


def main_answers(page: LabPage) -> tuple[list[Symbol], dict[str, dict[str, Found]]]:
    """What students look for first, and by variant what comes out, by the ids of these."""
    sets = {n: {o.of.id: o for o in each if o.slip is None} for n, each in found(page).items()}
    main = {i: o.of for each in sets.values() for i, o in each.items() if i.split(".")[0] in _MAIN}
    return list(main.values()), sets


def alike(lab: Lab, course: Course) -> dict[str, list[str]]:
    """Of each variant which answers marking can't tell from those of the lab itself or of a variant
    before it, in a sentence for each of these. What only one number decides may be the same.
    """
    figures, gravity, every = course.significant_figures, gravity_of(course), lab.every_variant
    if not lab.variants:
        return {}
    answers, values = answers_of(lab.variant, gravity, figures), columns(*every)
    chosen = [p for p in values if p.endswith(".mass") or p.startswith("run.")]
    moved = {path: values[path] * (1 + _SHIFT * at) for at, path in enumerate(chosen, 1)}
    rights, others = answers(values).rights, answers({**values, **moved}).rights
    run = happening(lab.variant, gravity, figures)
    lesson = build_lesson(run.scenario, run.apparatus, run.solution, figures=figures, numbers=True)
    decided = {k: v for k, v in rights.items() if not np.allclose(v, others[k], atol=0.0)}
    words = {one.of.id: f"the {one.of.meaning}" for one in results(lesson)}
    found: dict[str, list[str]] = {name: [] for name in lab.variants}
    for (at, name), other in ((e, o) for e in enumerate(found, 1) for o in range(e[0])):
        pairs = ((key, value[at], value[other]) for key, value in decided.items())
        near = [
            words[key]
            for key, one, two in pairs
            if isclose(one, two, rel_tol=tolerance(figures))
            and (key.partition(".")[0] in _MAIN or not isclose(one, two))
        ]
        same, whose = values_of(every[at]) == values_of(every[other]), ["", *found][other]
        if same or near:
            told_of = [] if same else [*near[:_NAMED], *["others"][: len(near[_NAMED:])]]
            found[name] += told("reviewing", "alike", listed(told_of), whose)
    return found


# ---- what one prelab can serve


def check_variants(data: CourseData) -> None:
    """Raise ``BadInput`` for variants in which something else happens than in their lab, so that
    its prelab would say wrong things of them.
    """
    report = Report()
    figures, gravity = data.course.significant_figures, gravity_of(data.course)
    for lab in (lab for term in data.terms for lab in term.labs if lab.variants):
        for name, each in lab.variants.items():
            if differs := _otherwise(each, lab.variant, gravity, figures):
                place = lab.places[f"variants.{name}"]
                report.refuse(place, "another-run", lab=lab.id, name=name, **differs)
    report.raise_if_any()


@once
def _otherwise(
    scenario: Scenario, lab: Scenario, gravity: float, figures: int
) -> Mapping[str, str]:
    """How a run and the lab's differ in kind: in a number that is zero or has another sign, or in
    what happens; empty where they don't.
    """
    run, own = (happening(each, gravity, figures) for each in (scenario, lab))
    here, there = (dict(quantities_of(each.scenario)) for each in (run, own))
    for path in (path for path in here if path in there):
        signs = {_sign(of[path].value) for of in (here, there)}
        if len(signs) > 1 and not path.endswith(".starts_at"):
            texts = (f"{path} is {numbers_of(of.scenario)[path]}" for of in (run, own))
            return dict(zip(("here", "there"), texts, strict=True))
    if _kind(run) == _kind(own):
        return {}
    return {"here": " ".join(run.says("sentence")), "there": " ".join(own.says("sentence"))}


def _kind(run: Happening) -> list[Any]:
    """What a lesson in symbols says of the driven part: how each phase ends, which way everything
    starts, speeds up and goes, which way each force acts.
    """
    phases = [part.phase for part in run.parts]
    return [
        (
            phase.ends,
            *(
                {name: _sign(value) for name, value in each.items()}
                for each in (phase.start_velocities, phase.accelerations, phase.displacements)
            ),
            {f.name: f.vector and tuple(map(_sign, f.vector)) for f in phase.forces},
        )
        for phase in phases
    ]


def _sign(value: float | None) -> float | None:
    return None if value is None else copysign(1.0, value) if abs(value) > _NOTHING else 0.0
