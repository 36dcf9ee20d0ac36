"""What is open is no leak: the audit finds nothing in the demo course, in whatever state its labs
are and whatever numbers they have.

Pages are set without the theme's frame, in which nothing of a lab stands, and each only once.
"""

import random
from dataclasses import replace
from datetime import datetime, timedelta
from itertools import product
from pathlib import Path

import pytest
import yaml
from markdown import Markdown

from democourse import PROJECT, as_built
from fallwork.mechanics.course import gravity_of
from fallwork.pages import PageFile, addresses, build_pages, held_back, open_records, written
from fallwork.pages.schedule import events_of
from fallwork.scenario import CourseData, Quantity, Scenario, Withdrawal, load_course, with_numbers
from fallwork.scenario.term import Lab
from fallwork.site.audit import Audit, Finding, copies_of, look_through
from fallwork.site.audit_numbers import readings
from fallwork.site.reading import passages

DEMO = load_course(PROJECT / "site-data")
TERM = next(term for term in DEMO.terms if term.id == "2026-autumn")
NOW = datetime.fromisoformat("2026-11-20T12:00+01:00")
DAY = timedelta(days=1)
# At rest, with records, with typed values. The states: dates of opening and of the solution, and
# whether it has been taken down.
LABS = ("incline-held", "level-track-frictionless", "level-track-make-up")
STATES = {"coming": (5, 20), "open": (-5, 20), "solved": (-20, -5), "withdrawn": (-20, 20)}
COMBINATIONS = [
    (states, trials) for states in product(STATES, repeat=len(LABS)) for trials in (True, False)
]
HARMLESS = {
    file: numbers
    for plugin in yaml.safe_load((PROJECT / "mkdocs.yml").read_text("utf-8"))["plugins"]
    if isinstance(plugin, dict)
    for file, numbers in plugin["fallwork"]["harmless"].items()
}
_SET: dict[PageFile, str] = {}
pytestmark = pytest.mark.usefixtures("lessons_once")  # no drawings: the audit knows their names


def in_state(lab: Lab, state: str, trials: bool) -> Lab:
    opens, solution = STATES[state]
    return replace(
        lab,
        opens=NOW + opens * DAY,
        data_opens=NOW + (opens + solution) / 2 * DAY if trials and lab.measured else None,
        due=NOW + (solution - 2) * DAY,
        solution_opens=NOW + solution * DAY,
        measured=lab.measured if trials else None,
        withdrawn=Withdrawal(at=NOW - DAY, because="The track is bent.")
        if state == "withdrawn"
        else None,
    )


def html(page: PageFile) -> str:
    if page not in _SET:
        text = Markdown(extensions=["attr_list"]).convert(page.content.split("---\n", 2)[2])
        _SET[page] = text.replace('.md"', '.html"').replace(".md#", ".html#")
    return _SET[page]


def write(root: Path, pages: tuple[PageFile, ...]) -> None:
    for page in pages:
        text = html(page) if page.path.endswith(".md") else page.content
        path = root / page.path.replace(".md", ".html")
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, "utf-8")


def found_in_site(site: Path, data: CourseData, now: datetime) -> list[Finding]:
    return list(
        look_through(
            site,
            held=held_back(data, now),
            steps={*addresses(data, now)},
            copies=copies_of(data.root, tuple(open_records(data, now))),
            sources={},
            packaged=lambda address: None,
            declared=lambda path: False,
        )
    )


PAGES = {
    page: as_built(page.read_text("utf-8")) for page in sorted((PROJECT / "content").glob("*.md"))
}


def found_in_words(data: CourseData, now: datetime) -> list[Finding]:
    looking = Audit(
        held_back(data, now), gravity=gravity_of(data.course), root=PROJECT, harmless=HARMLESS
    )
    found = [each for place, text in written(data, now) for each in looking.of_text(place, text)]
    for page, built in PAGES.items():
        found += looking.of_page(page, built)
    return found


def test_nothing_is_found_in_any_combination_of_states(tmp_path: Path, thorough: bool) -> None:
    labs = [next(lab for lab in TERM.labs if lab.id == name) for name in LABS]
    share = COMBINATIONS if thorough else COMBINATIONS[::23]
    for number, (states, trials) in enumerate(share):
        now = tuple(in_state(*each, trials) for each in zip(labs, states, strict=True))
        data = replace(DEMO, terms=(replace(TERM, labs=now),))
        site = tmp_path / str(number)
        write(site, build_pages(data, now=NOW, edition="student"))
        assert found_in_site(site, data, NOW) == [], (states, trials)
        assert found_in_words(data, NOW) == [], (states, trials)


def varied(scenario: Scenario, at_random: random.Random) -> Scenario:
    """The same set-up with every mass up to a tenth more or less."""
    masses = {
        f"{name}.mass": f"{1000 * mass.value * at_random.uniform(0.9, 1.1):.1f} g"
        for name, thing in scenario.objects.items()
        if isinstance(mass := getattr(thing, "mass", None), Quantity)
    }
    return with_numbers(scenario, masses)


def test_nothing_is_found_whatever_the_numbers_are(thorough: bool) -> None:
    """All labs have other numbers at once, at each moment at which something opens."""
    at_random = random.Random(9)
    moments = [TERM.labs[0].opens - DAY, *(e.at for e in events_of(TERM, datetime.min))]
    for _ in range(300 if thorough else 3):
        labs = tuple(
            replace(lab, variant=varied(lab.variant, at_random), example=lab.example or lab.variant)
            for lab in TERM.labs
        )
        data = replace(DEMO, terms=(replace(TERM, labs=labs),))
        for now in moments if thorough else moments[::9]:
            assert found_in_words(data, now) == []


def test_a_page_that_comes_too_early_would_be_found(tmp_path: Path) -> None:
    lab = next(lab for lab in TERM.labs if lab.id == LABS[0])
    solved, still = (
        replace(DEMO, terms=(replace(TERM, labs=(in_state(lab, state, False),)),))
        for state in ("solved", "open")
    )
    write(tmp_path, build_pages(solved, now=NOW, edition="student"))
    places = {each.place for each in found_in_site(tmp_path, still, NOW)}
    assert "2026-autumn/incline-held/solution.html" in places
    assert "2026-autumn/incline-held/index.html" in places  # links to it


def test_every_number_of_the_pages_that_come_along_is_declared_harmless() -> None:
    """They belong to no lab; another lab may well have such a result."""
    for page, built in PAGES.items():
        said = passages("page.html", built)
        numbers = {each.digits for passage in said for each in readings(passage.text)}
        assert numbers <= set(HARMLESS.get(f"content/{page.name}", ())), page.name
