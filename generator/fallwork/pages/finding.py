"""What can be searched: of each lab its steps and the questions that they answer, for staff numbers
too; and of the course its labs, and how words are taken.

Takes the pages that are there; gives script files, because a page that is read from a folder may
load those and no others. Each hands over plain data. Searching itself is the page's
(``site/assets/seek.js``). What isn't open isn't in what students get.
"""

import json
import re
from collections.abc import Iterator
from dataclasses import is_dataclass
from functools import cache
from typing import Any

from fallwork.errors import table
from fallwork.lesson.answers import changed_by, results, slips
from fallwork.lesson.build import CHOICES
from fallwork.lesson.document import Marked, Question, Step, Text
from fallwork.lesson.expression import Symbol
from fallwork.lesson.latex import plain
from fallwork.lesson.printer import plain_letter
from fallwork.pages import variants
from fallwork.pages.context import Context, GivenLab, LabPage
from fallwork.pages.markdown import PageFile
from fallwork.pages.schedule import OVERVIEW, SOLUTION
from fallwork.scenario.term import time_in_words

FOLDER = "search"  # no term is called so
COURSE = "course"  # the file that every search begins with
_GUARD = 2  # figures kept beyond those that are printed
_Steps = dict[str, tuple[Step, list[int]]]  # by id, with the pages that have it, by their places


def searched(site: Context) -> PageFile:
    """The file of the course; that of each lab is one of its own."""
    given_ = [each for each in site.by_state() if is_searched(each)]
    return _file(
        site,
        COURSE,
        {
            "root": site.absolute("").rstrip("/"),
            "staff": site.staff,
            "labs": [
                {"at": each.folder, "title": each.title, "state": each.state.value}
                for each in given_
            ],
            **_course_words(),
        },
    )


def is_searched(given: GivenLab) -> bool:
    """Whether it is of now."""
    return not (given.earlier or given.withdrawn)


def search_of(given: GivenLab) -> PageFile:
    """The file of a lab."""
    return _file(given.site, given.folder, _of_lab(given))


def _file(site: Context, name: str, told: dict[str, Any]) -> PageFile:
    data = json.dumps(told, ensure_ascii=False, separators=(",", ":"))
    script = f"(globalThis.fwSearch??={{}})[{json.dumps(name)}]={data}\n"
    return PageFile(path=f"{FOLDER}/{name}.js", body=site.data.course.notation.worded(script))


@cache
def _course_words() -> dict[str, Any]:
    """How words are taken, and what units are to each other: ``wordings.yaml``."""
    told = table("pages", "wordings")
    units = {
        unit: [float(factor), of]
        for of, others in told["units"].items()
        for unit, factor in {of: "1", **others}.items()
    }
    return {**{key: told[key] for key in ("filler", "same", "either")}, "units": units}


def _of_lab(given: GivenLab) -> dict[str, Any]:
    pages, worded = [given.page(OVERVIEW), *given.pages], given.lab.variant.nouns.worded
    steps: _Steps = {}
    asked: dict[str, tuple[Question, str, int]] = {}
    for at, page in enumerate(pages):
        for step in page.steps:
            steps.setdefault(step.id, (step, []))[1].append(at)
            for each in step.questions:
                asked.setdefault(each.id, (each, step.id, at))
    places = list(steps)
    told: dict[str, Any] = {
        "title": given.title,
        "pages": [[each.address, each.sub.title, each.held_until] for each in pages],
        "parts": [[id_, *words.split("; ", 1)] for id_, words in _overview().items()],
        "steps": [
            [
                id_,
                worded(step.title),
                worded(_words(step.idea)),
                step.also,
                at,
                worded(_below(step)),
            ]
            for id_, (step, at) in steps.items()
        ],
        "asked": [
            [
                each.id,
                places.index(step),
                worded(each.asked),
                each.also,
                worded(_words(each.answer)),
                at,
            ]
            for each, step, at in asked.values()
        ],
        "watched": [*_watched(given, places)],
        "systems": [*_systems(pages, places)],
    }
    return told | (_numbers(given, pages, steps) if given.site.staff else {})


def _watched(given: GivenLab, places: list[str]) -> Iterator[list[Any]]:
    """Of each mark of a recording its step, the recording, the time, the address that leads there,
    and for staff when students get it.
    """
    site = given.site
    for each in given.lab.recordings:
        opens = max(each.at, given.lab.opens_first)
        held = site.say(opens) if opens > site.now else ""
        for step, at in each.marks.items():
            if step in places:
                moment = each.moment(at, site.data.course.recording_times)
                yield [places.index(step), each.title, time_in_words(at), moment, held]


def _systems(pages: list[LabPage], places: list[str]) -> Iterator[list[Any]]:
    """Of each featured choice of system the step where one is made, its title, what is inside."""
    having = (page for page in pages if CHOICES in (step.id for step in page.steps))
    chosen = next((page.shown.lesson.choosing for page in having), None) or {}
    for each in chosen.get("featured", ()):
        inside = [thing["id"] for thing in chosen["things"] if thing["id"] in each["members"]]
        yield [places.index(CHOICES), each["title"], ".".join(inside)]


def _overview() -> dict[str, str]:
    """What is looked for on the overview: the address of a part -> its title, more ways to say."""
    found: dict[str, str] = table("pages", "wordings")["overview"]
    return found


def _words(text: Text) -> str:
    """A sentence in plain letters."""
    return "".join(
        each if isinstance(each, str) else each.words if isinstance(each, Marked) else plain(each)
        for each in text
    )


def _below(step: Step) -> str:
    """The words below a step's idea, each once."""
    said = " ".join(_said((step.all_blocks, step.slips))).lower()
    return " ".join(dict.fromkeys(re.findall(r"[^\W\d_]{3,}", said)))


def _said(part: object) -> Iterator[str]:
    """Every string in the texts of a part of a lesson; other strings stand in no tuple."""
    if isinstance(part, tuple):
        yield from (each for each in part if isinstance(each, str))
    if isinstance(part, tuple) or is_dataclass(part):
        for each in part if isinstance(part, tuple) else vars(part).values():
            yield from _said(each)


# ---- numbers that somebody may bring


def _numbers(given: GivenLab, pages: list[LabPage], steps: _Steps) -> dict[str, Any]:
    """Numbers of results, with variants, of mistakes and of what follows; all else by its place."""
    shown, worded = given.page(SOLUTION).shown, given.lab.variant.nouns.worded
    lesson, digits = shown.lesson, shown.digits
    places, quantities = list(steps), dict[tuple[str, str], tuple[int, Symbol]]()
    right, wrong, follows = list[list[Any]](), list[list[Any]](), list[list[Any]]()

    def said(value: float, of: Symbol, step: Step, variant: str = "") -> list[Any]:
        at, _ = quantities.setdefault((variant, of.id), (len(quantities), of))
        return [float(f"{value:.{digits + _GUARD}g}"), at, places.index(step.id)]

    others = {name: each.lesson for name, each in variants.worked(given.page(SOLUTION)).items()}
    for name, one in ((n, one) for n, of in {"": lesson, **others}.items() for one in results(of)):
        if one.step.id not in steps:  # what a variant does after the lab's run has ended
            continue
        best = max(
            steps[one.step.id][1], key=lambda n: pages[n].sub is SOLUTION
        )  # worked out there
        more = [one.tolerance(digits), one.figures(digits), best]
        right.append([*said(one.value, one.of, one.step, name), *more])
    for at, one in enumerate(slips(lesson)):
        assert one.slip is not None
        rows = [n for n, page in enumerate(pages) if _has(page, one.step.id, one.slip.id)]
        done = [one.slip.id.lower(), worded(_words(one.slip.done)), rows]
        wrong.append([*said(one.value, one.of, one.step), *done])
        for each in changed_by(one, lesson).values():
            follows.append([*said(each.value, each.of, each.step), at])
    named = table("pages", "words")["of-variant"]
    meant = ((name, worded(each.meaning), each) for (name, _), (_, each) in quantities.items())
    of = [
        [named.format(meaning=words, name=name) if name else words, plain_letter(each), each.unit]
        for name, words, each in meant
    ]
    return {"right": right, "wrong": wrong, "follows": follows, "of": of, "digits": digits}


def _has(page: LabPage, step: str, slip: str) -> bool:
    """Whether the row of a mistake stands on a page."""
    rows = (each.id for one in page.steps if one.id == step for each in one.slips)
    return slip in rows
