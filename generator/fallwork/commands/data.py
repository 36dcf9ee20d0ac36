"""A lab's numbers, steps and questions for other programs, in a folder for instructors alone: JSON
with its schema, CSV, and questions for a course system.

Takes what was typed; gives lines of text. Which column of which CSV file holds what is a table,
``data.yaml``; what JSON holds is described in ``data.schema.json``.
"""

import csv
import io
from collections.abc import Iterator, Mapping, Sequence
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from typing import Any

from fallwork.commands.call import CallError, as_json, called, course_folder
from fallwork.commands.questions import packaged
from fallwork.errors import said, table
from fallwork.lesson.answers import Found, of_each, results, slips
from fallwork.lesson.document import Given
from fallwork.lesson.known import givens_of
from fallwork.lesson.lab.motion import Motion
from fallwork.lesson.latex import plain, plainly
from fallwork.lesson.reviewing import happening
from fallwork.lesson.rounding import rounded
from fallwork.mechanics.course import gravity_of
from fallwork.pages.asked import StepLine, accepted, passes, step_lines
from fallwork.pages.context import STAFF, Context, GivenLab, LabPage
from fallwork.pages.schedule import EXAMPLE, OVERVIEW
from fallwork.pages.worked import worked
from fallwork.scenario import CourseData, Scenario, from_here, load_course
from fallwork.site import folder

_said = partial(said, "commands")
_DATA = "data"  # what the mark of such a folder says that it holds
_SCHEMA = Path(__file__).with_name("data.schema.json")
_OWN = "own"  # the set of the lab's own numbers, as files of terms call it
_DIGITS = 10  # of a float; the last ones differ between machines
_GUARD = 2  # figures of the ends of a range that results don't have
_Row = dict[str, Any]


def handed_over(lab: str, *, term: str, to: Path) -> Iterator[str]:
    """Write all into a folder, which must be empty or written by this command before and no part
    of what is published or published from; it is swapped in as a whole.
    """
    data = load_course(course_folder(), record=False)
    terms = {each.id: each for each in data.terms}
    called("lab", lab, {each.id: each for each in called("term", term, terms).labs})
    for place in _published(data):
        if to.resolve().is_relative_to(place):
            raise CallError("data-in-public", path=to, place=from_here(place))
    folder.require_ours(to, _DATA)
    labs = Context(data, datetime.now(UTC), STAFF, telling=False).labs()
    content = _content(next(each for each in labs if each.key == (term, lab)))
    files = {"data.json": f"{as_json(content)[0]}\n".encode(), _SCHEMA.name: _SCHEMA.read_bytes()}
    files |= {name: _csv(of, content) for name, of in table("commands", "data")["files"].items()}
    count, files["questions.zip"] = packaged(content)
    fresh = folder.new_beside(to)
    for name, body in files.items():
        (fresh / name).write_bytes(body)
    folder.mark(fresh, _DATA)
    folder.swap_in((fresh, to))
    yield _said("data-written", path=to, files=", ".join(files), count=count)
    yield _said("data-private", path=to)
    if not data.course.url:
        yield _said("data-without-url", root=data.root)


def _published(data: CourseData) -> Iterator[Path]:
    """The folders of which anything may reach students: the course's, and those of its site."""
    yield data.root.resolve()
    if (settings := Path("mkdocs.yml")).is_file():
        from fallwork.site.publication import configuration  # slow to import

        config = configuration(settings)
        yield from (Path(config.site_dir).resolve(), Path(config.docs_dir).resolve())


# ---- what there is to tell of a lab


def _content(given: GivenLab) -> _Row:
    lab, course = given.lab, given.site.data.course
    lesson = worked(lab, EXAMPLE, lab.variant, course, telling=False).lesson
    found = {_OWN: (*results(lesson), *slips(lesson))}
    if lab.variants:
        others = {name: (each, gravity_of(course)) for name, each in lab.variants.items()}
        found |= of_each(lesson, lab.variant, others, course.significant_figures)
    sets = dict(zip(found, lab.every_variant, strict=True))
    return {
        "course": course.title,
        "term": given.term.id,
        "lab": lab.id,
        "title": given.title,
        "scenario": lab.scenario.id,
        "setup": lab.variant.worded(plainly(lesson.summary)),
        "parts": any("-part-" in step.id for step in lesson.steps),
        "figures": course.significant_figures,
        "sets": [{"set": n, **_numbers(given, each, found[n])} for n, each in sets.items()],
        "steps": [_step(given, line) for line in step_lines(given.page(OVERVIEW))],
    }


def _numbers(given: GivenLab, scenario: Scenario, found: Sequence[Found]) -> _Row:
    """What is given in a set of numbers, and what comes out."""
    course, worded = given.site.data.course, scenario.worded
    digits, rows = course.significant_figures, dict[str, list[_Row]](results=[], mistakes=[])
    for one in found:
        page = next((each for each in given.pages if each.holds(one.step.id)), None)
        told = {
            "quantity": one.of.id,
            "meaning": worded(one.of.meaning),
            "symbol": plain(one.of),
            "value": _number(one.value),
            "unit": one.of.unit,
            "step": one.step.id,
            "step_title": worded(one.step.title),
            "address": _at(page, one.step.id)["address"] if page else "",
        }
        if one.slip is None:
            low, high = (_number(end, digits + _GUARD) for end in accepted(one, digits))
            told |= {"rounded": str(rounded(one.value, one.figures(digits)).decimal)}
            rows["results"].append(told | {"accepted_from": low, "accepted_to": high})
        else:
            told |= {"mistake": one.slip.id, "done": worded(plainly(one.slip.done))}
            formula, passing = plain(one.slip.formula), passes(one, found, digits)
            rows["mistakes"].append(told | {"formula": formula, "accepted": passing})
    run = happening(scenario, gravity_of(course), digits).seen_as(Motion)
    return {"givens": [_given(each, worded(each.meaning)) for each in givens_of(run)], **rows}


def _given(given: Given, meaning: str) -> _Row:
    """What no formula uses has no symbol."""
    of, written = given.symbol, given.as_written.replace("\u00a0", " ")
    known = (of.id, plain(of), float(of.written), of.unit) if of else ("", "", None, "")
    keys = ("quantity", "symbol", "value", "unit")
    return {"meaning": meaning, "written": written, **dict(zip(keys, known, strict=True))}


def _step(given: GivenLab, line: StepLine) -> _Row:
    worded, step = given.lab.variant.worded, line.step
    questions = [
        {"question": id_, "asked": worded(each.asked), "also": each.also, "mistake": each.slip}
        | {"answer": worded(plainly(each.answer)), **_at(there, f"q-{id_}")}
        for id_, (each, there) in line.asked.items()
    ]
    told = {"step": step.id, "title": worded(step.title), "idea": worded(plainly(step.idea))}
    places = [_at(page, step.id) for page in line.places]
    return told | {"places": places, "questions": questions}


def _at(page: LabPage, anchor: str) -> dict[str, str]:
    """An address, and from when on students have it."""
    site, opens = page.given.site, page.sub.opens(page.given.lab)
    moment = opens.astimezone(site.data.course.zone).isoformat() if opens else ""
    return {"address": site.absolute(f"{page.address}#{anchor}"), "opens": moment}


def _number(value: float, digits: int = _DIGITS) -> float:
    return float(f"{value:.{digits}g}")


# ---- tables


def _csv(of: Mapping[str, Any], content: _Row) -> bytes:
    """As RFC 4180 has it, behind a byte order mark, by which spreadsheets know UTF-8."""
    text, words = io.StringIO(newline=""), table("commands", "data")["words"]
    rows = csv.writer(text)
    rows.writerow(of["columns"])
    for outer in content[of["of"]]:
        found = ({**outer, **inner} for inner in outer[of["each"]])
        cells = ([each[key] for key in of["columns"].values()] for each in found)
        rows.writerows([words.get(str(cell), cell) for cell in row] for row in cells)
    return text.getvalue().encode("utf-8-sig")
