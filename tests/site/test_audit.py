"""Whatever is held back and stands in what people wrote is found, and nothing else."""

import random
from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime, timedelta
from itertools import product
from pathlib import Path
from typing import Any

import pytest
import yaml
from markdown import Markdown

from cases import cases
from democourse import PROJECT, as_built
from fallwork import errors, scenario
from fallwork.mechanics.course import gravity_of
from fallwork.pages import build, heldback
from fallwork.pages.markdown import PageFile
from fallwork.scenario.term import Lab
from fallwork.site import audit_numbers, reading
from fallwork.site.audit import Audit, AuditError, Finding, look_through
from fallwork.site.copies import copies_of
from fallwork.site.files import undeclared

LAB = "2027-spring/level"
COURSE = scenario.Course(title="Mechanics", time_zone="UTC")
CASES = cases(__file__, "leaks")
T = "0.664 N"


def held_in(what: str, page: str, files: list[str], answers: list[Any]) -> heldback.HeldBack:
    told = (heldback.Answer(quantity=q, value=v, unit=unit, figures=n) for q, v, unit, n in answers)
    return heldback.HeldBack(what=what, page=page, files=tuple(files), answers=tuple(told))


HELD = tuple(held_in(**each) for each in CASES["held"])
TABLE = "".join(f"{0.001 * n:.4f}\n" for n in range(300, 1400))
NOTATIONS: list[str] = CASES["notations"]
HARMLESS: dict[str, str] = {**CASES["harmless"], "a long table": TABLE}
TERM = CASES["term"]
OPEN = {f"{LAB}/prelab.html#tension"}
SITE = {name: (file, text.encode(), found) for name, (file, text, found) in CASES["site"].items()}
DEMO = scenario.load_course(PROJECT / "site-data")
AUTUMN = next(term for term in DEMO.terms if term.id == "2026-autumn")
NOW = datetime.fromisoformat("2026-11-20T12:00+01:00")
DAY = timedelta(days=1)
# At rest, with records, with typed values. The states: dates of opening and of the solution, and
# whether it has been taken down.
LABS = ("incline-held", "level-track-frictionless", "level-track-make-up")
STATES = {"coming": (5, 20), "open": (-5, 20), "solved": (-20, -5), "withdrawn": (-20, 20)}
_SET: dict[PageFile, str] = {}
pytestmark = pytest.mark.usefixtures("lessons_once")  # no drawings: the audit knows their names


def audit(root: Path, **harmless: list[str]) -> Audit:
    named = {f"{file}.md": digits for file, digits in harmless.items()}
    return Audit(HELD, gravity=9.80665, root=root, harmless=named)


def findings(root: Path, name: str, content: bytes, **harmless: list[str]) -> list[Finding]:
    """What the audit finds in one file of somebody's own."""
    return list(audit(root, **harmless).of_file(root / name, content))


def look(root: Path, name: str, content: bytes, **harmless: list[str]) -> list[str]:
    return [str(each) for each in findings(root, name, content, **harmless)]


FILES: Mapping[str, tuple[str, bytes]] = {
    **{name: (file, text.encode()) for name, (file, text) in CASES["files"].items()},
    **{name: (file, text.encode("latin-1")) for name, (file, text) in CASES["bytes"].items()},
    "a number beside a table": ("a.csv", f"T: 0.664\n{TABLE}".encode()),
    "a cell of a table with all its figures": ("a.csv", f"{TABLE}0.66427893\n".encode()),
    "text in UTF-16": ("a.txt", T.encode("utf-16")),
}


@pytest.mark.parametrize("leak", CASES["unreadable"])
def test_what_cannot_be_read_is_refused_unless_it_is_declared(tmp_path, leak):
    """They hold an answer too, or may."""
    name, content = CASES["unreadable"][leak]
    content, path = content.encode("latin-1"), tmp_path / name
    path.write_bytes(content)
    assert len(undeclared(COURSE, Path("course.yaml"), {name: path})) == 2
    declared = replace(COURSE, attachments={name: None})
    assert undeclared(declared, Path("course.yaml"), {name: path}) == []
    assert through(tmp_path, f"more/{name}", content) == ["a file that is no text"]


def test_a_file_within_a_page_that_cannot_be_read_is_told(tmp_path):
    page = '# Tips\n\n<img alt="" src="data:image/png;base64,AA==">'
    assert look(tmp_path, "tips.md", page.encode()) == [
        f"{tmp_path}/tips.md:3:1: data:image/png;base64…, which is no text; nobody can read it for "
        "answers; put it into a file of its own"
    ]


@pytest.mark.parametrize("text", NOTATIONS)
def test_a_number_in_a_page_and_in_a_text_of_the_course_is_found(tmp_path, text):
    source = tmp_path / "tips.md"
    source.write_text(f"# Tips\n\n{text}\n", "utf-8")
    assert list(audit(tmp_path).of_page(source, as_built(source.read_text("utf-8"))))
    if "<" not in text and "&" not in text:  # such a text is no markup
        place = errors.Place(file="site-data/course.yaml", line=3, column=8)
        (found,) = audit(tmp_path).of_text(place, text)
        assert found.place == "site-data/course.yaml:3:8"


@pytest.mark.parametrize("leak", FILES)
def test_a_number_in_another_file_is_found(tmp_path, leak):
    assert look(tmp_path, *FILES[leak])


@pytest.mark.parametrize("text", HARMLESS)
def test_what_gives_nothing_away_is_let_through(tmp_path, text):
    assert look(tmp_path, "tips.md", HARMLESS[text].encode()) == []


def test_the_message_names_file_line_and_a_declaration(tmp_path):
    assert look(tmp_path, "tips.md", f"# Tips\n\nYou <b\nclass='x'>get</b> {T}.\n".encode()) == [
        f'{tmp_path}/tips.md:4:19: "0.664 N", which is tension; '
        "held back: the solution of level in 2027-spring"
    ]
    assert look(tmp_path, "a_0.664_N.txt", b"")[0].startswith(
        f'{tmp_path}/a_0.664_N.txt, file name: "0.664", which'
    )
    page = b"It reads to 1.34 m/s, as T is 0.664 N."
    said = "If a number is no answer and only looks like one, say so in mkdocs.yml, below fallwork"
    told = findings(tmp_path, "tips.md", page)
    assert str(AuditError(told)).splitlines()[-1] == (
        f'{said}: harmless: {{"tips.md": ["1.34", "0.664"]}}'
    )
    declared = {"tips.md": ["1.34"], "a.md": ["1.50"]}
    assert str(AuditError(told, declared)).splitlines()[-1] == (
        f"{said}, in place of the entry harmless that stands there: "
        'harmless: {"tips.md": ["1.34", "0.664"], "a.md": ["1.50"]}'
    )
    assert len(look(tmp_path, "tips.md", page, tips=["1.34"])) == 1
    assert look(tmp_path, "tips.md", page, tips=["1.34", "0.664"]) == []


def test_a_number_beyond_every_float_is_no_answer_and_leaks_are_told_at_once_up_to_twenty(tmp_path):
    unit = "1234 N" + " km^9" * 12 + " / (m^9" + " m^9" * 11 + ")"
    for number in ("7" * 310, "12" + "0" * 310, unit):
        assert look(tmp_path, "x.md", f"{number}; {number} N".encode()) == [], number
    many = "\n".join(f"{T} {number}" for number in range(23)).encode()
    lines = str(AuditError(findings(tmp_path, "tips.md", many))).splitlines()
    assert lines[0] == "The site would give away what is held back, so it isn't published:"
    assert (len(lines), lines[-3]) == (24, "and 3 more places")
    assert lines[-2] == "Take it out there, or publish again once it is open."


# ---- the whole site
RECORD, OPEN_RECORD = (
    "time,position\n" + "".join(f"{n / 20:.2f},{x * n * n:.4f}\n" for n in range(20))
    for x in (0.0014, 0.0021)
)
TABLE_OF_IT = RECORD.replace("\n", "</td></tr>\n<tr><td>").replace(",", "</td>\n<td>")
COPIES: Mapping[str, tuple[str, bytes]] = {
    "of the term": ("a.txt", TERM.replace("\n", "\r\n").encode()),
    "of records": ("a.txt", RECORD.encode()),
    "with a mark": ("a.txt", b"\xef\xbb\xbf" + RECORD.encode()),
    "in UTF-16": ("a.txt", RECORD.encode("utf-16")),
    "saved again": ("a.csv", RECORD.replace(",", ";").replace(".", ",").encode()),
    "with more lines": ("a.csv", f"Bench 3\n{RECORD}9.99,9.999\n".encode()),
    "without the last lines": ("a.csv", RECORD[:-24].encode()),
    "as a text in a page": ("tips.html", f"<pre>Look:\n{TERM}</pre>".encode()),
    "in colours": ("tips.html", TERM.replace("a", "<span>a</span>").encode()),
    "as a table": ("tips.html", TABLE_OF_IT.encode()),
}
SITE |= {f"a copy {how}": (*each, "a copy of ") for how, each in COPIES.items()}
OPEN_FILES = [
    *((file, text.encode()) for file, text in CASES["open"]),
    ("a.csv", OPEN_RECORD.encode()),  # trials that are open
    ("a.csv", RECORD[:60].encode()),  # a line or two, as an example of the form
    ("photo.jpg", b"\xff\xd8\0"),
]


def through(root: Path, file: str, content: bytes) -> list[str]:
    """What is found in a site of one file."""
    data, site = root / "site-data", root / "site"
    (data / "trials").mkdir(parents=True)
    (data / "2027-spring.yaml").write_text(TERM)
    (data / "trials/1.csv").write_text(RECORD)
    (data / "trials/2.csv").write_text(OPEN_RECORD)
    (site / file).parent.mkdir(parents=True)
    (site / file).write_bytes(content)
    found = look_through(
        site,
        held=HELD,
        steps=OPEN,
        copies=copies_of(data, [data / "trials/2.csv"]),
        sources={"tips.html": root / "tips.md"},
        packaged=lambda address: b"packaged",
        declared=lambda path: path == "photo.jpg",
    )
    return [each.found for each in found]


@pytest.mark.parametrize("leak", SITE)
def test_what_is_held_back_is_found_in_a_site(tmp_path, leak):
    file, content, expected = SITE[leak]
    (found,) = through(tmp_path, file, content)
    assert found.startswith(expected)


@pytest.mark.parametrize(("file", "content"), OPEN_FILES)
def test_what_is_open_is_let_through(tmp_path, file, content):
    assert through(tmp_path, file, content) == []


# ---- what is open is no leak
COMBINATIONS = [
    (states, trials) for states in product(STATES, repeat=len(LABS)) for trials in (True, False)
]
DECLARED = {
    file: numbers
    for plugin in yaml.safe_load((PROJECT / "mkdocs.yml").read_text("utf-8"))["plugins"]
    if isinstance(plugin, dict)
    for file, numbers in plugin["fallwork"]["harmless"].items()
}


def in_state(lab: Lab, state: str, trials: bool) -> Lab:
    opens, solution = STATES[state]
    return replace(
        lab,
        opens=NOW + opens * DAY,
        data_opens=NOW + (opens + solution) / 2 * DAY if trials and lab.measured else None,
        due=NOW + (solution - 2) * DAY,
        solution_opens=NOW + solution * DAY,
        measured=lab.measured if trials else None,
        withdrawn=scenario.Withdrawal(at=NOW - DAY, because="The track is bent.")
        if state == "withdrawn"
        else None,
    )


def html(page: PageFile) -> str:
    if page not in _SET:
        text = Markdown(extensions=["attr_list"]).convert(page.content.split("---\n", 2)[2])
        _SET[page] = text.replace('.md"', '.html"').replace(".md#", ".html#")
    return _SET[page]


def write(root: Path, files: tuple[PageFile, ...]) -> None:
    for page in files:
        text = html(page) if page.path.endswith(".md") else page.content
        path = root / page.path.replace(".md", ".html")
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, "utf-8")


def found_in_site(site: Path, data: scenario.CourseData, now: datetime) -> list[Finding]:
    held, steps = heldback.held_back(data, now), {*build.addresses(data, now)}
    copies = copies_of(data.root, tuple(heldback.open_records(data, now)))
    known: dict[str, Any] = {"packaged": lambda _: None, "declared": lambda _: False}
    return [*look_through(site, held=held, steps=steps, copies=copies, sources={}, **known)]


PAGES = {
    page: as_built(page.read_text("utf-8")) for page in sorted((PROJECT / "content").glob("*.md"))
}


def found_in_words(data: scenario.CourseData, now: datetime) -> list[Finding]:
    looking = Audit(
        heldback.held_back(data, now),
        gravity=gravity_of(data.course),
        root=PROJECT,
        harmless=DECLARED,
    )
    found = [
        each for place, text in heldback.written(data, now) for each in looking.of_text(place, text)
    ]
    for page, built in PAGES.items():
        found += looking.of_page(page, built)
    return found


def varied(given: scenario.Scenario, at_random: random.Random) -> scenario.Scenario:
    """The same set-up with every mass up to a tenth more or less."""
    masses = {
        f"{name}.mass": f"{1000 * mass.value * at_random.uniform(0.9, 1.1):.1f} g"
        for name, thing in given.objects.items()
        if isinstance(mass := getattr(thing, "mass", None), scenario.Quantity)
    }
    return scenario.with_numbers(given, masses)


def test_nothing_is_found_in_any_combination_of_states_with_any_numbers(tmp_path, thorough):
    labs = [next(lab for lab in AUTUMN.labs if lab.id == name) for name in LABS]
    share, at_random = COMBINATIONS if thorough else COMBINATIONS[::23], random.Random(9)
    for number, (states, trials) in enumerate(share):
        if number % 2:
            labs = [replace(each, variant=varied(each.variant, at_random)) for each in labs]
        now = tuple(in_state(*each, trials) for each in zip(labs, states, strict=True))
        data = replace(DEMO, terms=(replace(AUTUMN, labs=now),))
        site = tmp_path / str(number)
        write(site, build.build_pages(data, now=NOW, edition="student"))
        assert found_in_site(site, data, NOW) == [], (states, trials)
        assert found_in_words(data, NOW) == [], (states, trials)


def test_a_page_that_comes_too_early_would_be_found(tmp_path):
    lab = next(lab for lab in AUTUMN.labs if lab.id == LABS[0])
    solved, still = (
        replace(DEMO, terms=(replace(AUTUMN, labs=(in_state(lab, state, False),)),))
        for state in ("solved", "open")
    )
    write(tmp_path, build.build_pages(solved, now=NOW, edition="student"))
    places = {each.place for each in found_in_site(tmp_path, still, NOW)}
    assert "2026-autumn/incline-held/solution.html" in places
    assert "2026-autumn/incline-held/index.html" in places  # links to it


def test_every_number_of_the_pages_that_come_along_is_declared_harmless():
    """They belong to no lab; another lab may well have such a result."""
    for page, built in PAGES.items():
        said = reading.passages("page.html", built)
        numbers = {each.digits for passage in said for each in audit_numbers.readings(passage.text)}
        assert numbers <= set(DECLARED.get(f"content/{page.name}", ())), page.name
