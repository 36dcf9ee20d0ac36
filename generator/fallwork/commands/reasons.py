"""Why numbers are proposed, or what there is to say of others: what each condition comes to, how
many sets it excludes, what to relax, and a drawing.

Takes what was looked at; gives lines of text, or an SVG file.
"""

from collections.abc import Iterator, Sequence
from functools import partial

import numpy as np

from fallwork.commands.call import columns as in_columns
from fallwork.errors import said, table
from fallwork.figures.candidates import candidates
from fallwork.figures.scene import say
from fallwork.lesson.answers import slips, tolerance
from fallwork.lesson.build import build_lesson
from fallwork.lesson.latex import plain, plainly
from fallwork.lesson.reviewing import rows
from fallwork.measurement.prediction import view_of
from fallwork.mechanics import apparatus_of, solve
from fallwork.pages.worked import reviewed
from fallwork.planning.choosing import Field
from fallwork.planning.conditions import NEAR
from fallwork.planning.driven import columns
from fallwork.scenario import CourseData, Scenario
from fallwork.scenario.report import listed

_said = partial(said, "commands")


def why(looked: Field, variant: Scenario, data: CourseData) -> Iterator[str]:
    """Each condition by its name with what the numbers come to; of mistakes that give nearly the
    right number, what was done.
    """
    gravity, figures = looked.task.case.gravity, data.course.significant_figures
    before = {key: values.tolist() for key, values in looked.before.items()}
    (findings,) = reviewed([variant], gravity, data, earlier_answers=before)
    told = zip(findings, rows(findings, variant.nouns), strict=True)
    yield from ("  why", *in_columns([(each.aspect, *cells) for each, cells in told], 4))
    apparatus = apparatus_of(variant, gravity.value)
    lesson = build_lesson(variant, apparatus, solve(apparatus), figures=figures, numbers=True)
    near = [
        (slip.id, f"{of.meaning}: {plainly(slip.done)} ({plain(slip.formula)})")
        for of, slip, wrong in ((one.of, one.slip, one.value) for one in slips(lesson))
        if slip and of.value and abs(wrong / of.value - 1) < NEAR * tolerance(figures)
    ]
    yield from [_said("near-mistakes")] if near else ()
    yield from map(variant.worded, in_columns(near, 4))


def excluded(looked: Field) -> Iterator[str]:
    """How many sets each condition excludes."""
    yield _said("excluded")
    words = {"run": table("planning", "conditions")["run"]["what"]}  # the only one not told above
    told = ((name, a, b, words.get(name, "")) for name, (a, b) in looked.excluded.items() if a)
    yield from in_columns([(name, f"{a:,}", f"({b:,})", said) for name, a, b, said in told], 4)


def to_relax(looked: Field, found: int) -> str:
    """What to do where so few can be proposed."""
    alone = {name: b for name, (_, b) in looked.excluded.items() if b and name != "run"}
    if found:
        return _said("too-few", found=found)
    if alone:
        most = max(alone, key=lambda name: alone[name])
        return _said("nothing-kept", name=most, count=f"{alone[most]:,}")
    if not len(looked.alike):
        return _said("nothing-alike")
    options = " ".join(f"--without {n}" for n in looked.nearest)
    return _said("nothing-near", names=listed(looked.nearest), options=options)


def drawn(looked: Field, chosen: Sequence[Scenario], title: str) -> str:
    """All by acceleration and tension; where nothing moves, by normal force and tension."""
    rights = looked.task.answers(looked.alike.values).rights
    pair = [
        next(key for stem in stems for key in rights if key.partition(".")[0] == stem)
        for stems in (("acceleration", "normal"), ("tension",))
    ]
    scenario = looked.task.case.scenario
    nouns, moving = scenario.nouns, view_of(scenario).moving
    parts = [(*key.split("."), moving)[:2] for key in pair]
    level, upright = (say(f"candidates-{kind}", it=nouns.the(it)) for kind, it in parts)
    points = np.column_stack([np.broadcast_to(rights[key], len(looked.alike)) for key in pair])
    dots = {"built": points, "good": points[looked.kept]}
    if all(key in looked.before for key in pair):
        dots["earlier"] = np.column_stack([looked.before[key] for key in pair])
    if chosen:
        own = looked.task.answers(columns(*chosen)).rights
        dots["proposed"] = np.column_stack([own[key] for key in pair])
    told = {key: [(float(x), float(y)) for x, y in each] for key, each in dots.items() if len(each)}
    return candidates(title, (level, upright), told)
