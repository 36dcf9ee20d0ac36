"""What can be searched: of each lab its steps and the questions that they answer, for staff numbers
too; and of the course its labs, and how words are taken.

Takes the pages that are there; gives script files, because a page that is read from a folder may
load those and no others. Each hands over plain data. Searching itself is the page's
(``site/assets/seek.js``). What isn't open isn't in what students get.
"""

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass, field, is_dataclass
from functools import cache
from typing import Any

from fallwork.errors import table
from fallwork.lesson.answers import Found, equations_of, slips
from fallwork.lesson.build import CHOICES
from fallwork.lesson.document import Question, Step
from fallwork.lesson.expression import Expression, Symbol, symbols_in
from fallwork.lesson.latex import plainly
from fallwork.lesson.printer import plain_letter
from fallwork.lesson.trees import as_data
from fallwork.pages import variants
from fallwork.pages.context import Context, GivenLab, LabPage
from fallwork.pages.markdown import PageFile
from fallwork.pages.schedule import OVERVIEW, SOLUTION
from fallwork.pages.scriptdata import reworked_on, steps_of_prelab, words_for, working_on
from fallwork.pages.worked import with_data
from fallwork.scenario.term import time_in_words

FOLDER = "search"  # no term is called so
COURSE = "course"  # the file that every search begins with
_STEP, _OVERVIEW, _EXTRA = 0.95, 0.85, 0.9  # what other entries are worth beside a question
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
            "words": words_for(("finder", *(("working", "bench") if site.staff else ()))),
        },
    )


def is_searched(given: GivenLab) -> bool:
    """Whether it is of now."""
    return not (given.earlier or given.withdrawn)


def search_of(given: GivenLab) -> PageFile:
    """The file of a lab."""
    return _file(given.site, given.folder, of_lab(given))


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
    return {**{key: told[key] for key in ("filler", "same", "either", "unknown")}, "units": units}


def of_lab(given: GivenLab) -> dict[str, Any]:
    """What can be searched of one lab."""
    pages, worded = [given.page(OVERVIEW), *given.pages], given.lab.variant.nouns.worded
    steps: _Steps = {}
    asked: dict[str, tuple[Question, Step, int]] = {}
    for at, page in enumerate(pages):
        for step in page.steps:
            steps.setdefault(step.id, (step, []))[1].append(at)
            for each in step.questions:
                asked.setdefault(each.id, (each, step, at))
    entries, typed = [*_overview(given)], table("pages", "typed")
    for id_, (step, there) in steps.items():
        told = {"told": worded(plainly(step.idea)), "below": worded(_below(step)), "share": _STEP}
        told |= {"also": step.also, "typed": typed.get(id_, "")}
        entries.append(_entry(id_, worded(step.title), [there, f"#{id_}"], **told))
    for id_, (each, step, at) in asked.items():
        told = {"told": worded(plainly(each.answer)), "below": worded(step.title)}
        where = [[at], f"#q-{id_}"]
        entries.append(_entry(step.id, worded(each.asked), where, also=each.also, **told))
    found: dict[str, Any] = {
        "title": given.title,
        "pages": [[each.address, each.sub.title, each.held_until] for each in pages],
        "steps": [*steps],
        "entries": [*entries, *_watched(given, steps), *_systems(pages, steps)],
    }
    return found | (_numbers(given, pages, steps) if given.site.staff else {})


def _entry(step: str, title: str, at: list[Any], **more: Any) -> list[Any]:
    """What is found: of which step, what it says, and where that is: on which pages with what
    behind their addresses, or the address, in which words, and when it opens; what else it says
    and in which words it is asked for too, what it is worth beside others, its kind, and what was
    typed by people who looked for it.
    """
    extra = {"told": "", "also": "", "below": "", "share": 1, "kind": "", "typed": ""} | more
    return [step, title, at, *extra.values()]


def _overview(given: GivenLab) -> Iterator[list[Any]]:
    """What is looked for on the overview."""
    for id_, words in table("pages", "wordings")["overview"].items():
        title, _, also = words.partition("; ")
        at, typed = [[0], f"#{id_}"], table("pages", "typed").get(id_, "")
        yield _entry(f"{given.folder}#{id_}", title, at, also=also, share=_OVERVIEW, typed=typed)


def _watched(given: GivenLab, steps: _Steps) -> Iterator[list[Any]]:
    """The marks of recordings."""
    site, said = given.site, table("pages", "words")["scripts"]["finder"]
    for each in given.lab.recordings:
        opens = max(each.at, given.lab.opens_first)
        held = site.say(opens) if opens > site.now else ""
        for step, at in each.marks.items():
            if step in steps:
                moment = each.moment(at, site.data.course.recording_times)
                title = given.lab.variant.nouns.worded(steps[step][0].title)
                where = said["moment"].format(recording=each.title, time=time_in_words(at))
                more = {"also": f"recording {title}", "share": _EXTRA, "kind": "recording"}
                yield _entry(moment, title, [moment, where, held], **more)


def _systems(pages: list[LabPage], steps: _Steps) -> Iterator[list[Any]]:
    """The featured choices of system, each with what is inside."""
    having = (page for page in pages if CHOICES in (step.id for step in page.steps))
    chosen = next((page.shown.lesson.choosing for page in having), None) or {}
    for each in chosen.get("featured", ()):
        inside = ".".join(t["id"] for t in chosen["things"] if t["id"] in each["members"])
        more = {"also": f"choose system {each['title']}", "share": _EXTRA, "kind": "system"}
        at = [steps[CHOICES][1], f"?system={inside}#{CHOICES}"]
        yield _entry(inside, each["title"], at, **more)


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
    """Formulas of results and of mistakes, from which a script takes what somebody's number may be:
    of the lab, as far as other numbers can be put in, and of what it has measured besides.
    """
    page = given.page(SOLUTION)
    lesson, digits = with_data(page.shown), page.shown.digits
    places, worded = list(steps), given.lab.variant.nouns.worded
    of, own = dict[str, Symbol](), reworked_on(page)
    working, base = dict(working_on(page)), steps_of_prelab(page)
    measured = _Measured(seen={*working.get("values", ()), *(own.others if own else ())})
    told = dict[int, list[Any]]()
    for step, symbol, equation in equations_of(lesson):
        of.setdefault(symbol.id, symbol)
        row = told[id(equation)] = [symbol.id, as_data(equation.last), symbol.unit]
        if not (symbol.given or symbol.aside):
            one, there = Found(of=symbol, value=symbol.value or 0.0, step=step), steps[step.id][1]
            best = max(there, key=lambda n: pages[n].sub is SOLUTION)  # worked out there
            row += [places.index(step.id), best, one.tolerance(digits), one.figures(digits)]
        if not (own and step.id in base):
            measured.results.append(row)
            measured.take(equation.last)
        measured.seen.add(symbol.id)
    wrong = list[list[Any]]()
    for one in slips(lesson):
        assert one.slip is not None
        of.setdefault(one.of.id, one.of)
        rows = [n for n, each in enumerate(pages) if _has(each, one.step.id, one.slip.id)]
        row = [one.of.id, as_data(one.slip.formula), places.index(one.step.id)]
        row += [one.slip.id.lower(), worded(plainly(one.slip.done)), rows]
        (wrong if own and one.step.id in base else measured.wrong).append(row)
        measured.take(one.slip.formula)
    if own:
        results = zip(working["results"], own.results, strict=True)
        working |= {"results": [told.get(id(each), row) for row, each in results], "wrong": wrong}
    names = {id_: [worded(each.meaning), plain_letter(each), each.unit] for id_, each in of.items()}
    found = {"working": working or None, "measured": measured.told(), "digits": digits}
    return found | {"of": names, "variants": _variants(page)}


@dataclass
class _Measured:
    """What holds for the lab's own numbers alone: formulas with what was measured, or with what
    only the solver gives, and the values that they stand on.
    """

    seen: set[str]  # what has a value otherwise
    results: list[list[Any]] = field(default_factory=list)
    wrong: list[list[Any]] = field(default_factory=list)
    values: dict[str, list[Any]] = field(default_factory=dict)

    def take(self, tree: Expression) -> None:
        """The values that a formula needs besides."""
        for each in symbols_in(tree):
            if each.id not in self.seen and each.value is not None:
                self.values[each.id] = [each.value, each.unit]

    def told(self) -> dict[str, Any]:
        return {"results": self.results, "wrong": self.wrong, "values": self.values}


def _variants(page: LabPage) -> dict[str, Any]:
    """Of each the givens that it has for itself, as they are typed, and its right results."""
    digits, given = page.shown.digits + _GUARD, variants.typed(page)
    return {
        name: {
            "given": given[name],
            "right": {e.of.id: float(f"{e.value:.{digits}g}") for e in each if e.slip is None},
        }
        for name, each in variants.found(page).items()
    }


def _has(page: LabPage, step: str, slip: str) -> bool:
    """Whether the row of a mistake stands on a page."""
    rows = (each.id for one in page.steps if one.id == step for each in one.slips)
    return slip in rows
