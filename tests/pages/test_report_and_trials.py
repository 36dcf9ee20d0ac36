"""Report, trials and comparison as pages: when they are there, what they hold, what they don't."""

import re
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from functools import cache
from pathlib import Path

import pytest

from fallwork.measurement.model import Estimate
from fallwork.measurement.records import read_all
from fallwork.measurement.simulate import Behaviour, csv_of, simulate
from fallwork.scenario import CourseData, Excluded, Measured
from fallwork.scenario.quantity import parse_quantity
from pages.history import DAY, LEVEL, course, head, lab, pages, start, term

FOLDER = "2027-spring/level"
OPENS, DATA_OPENS = start(2), start(2) + 5 * DAY
DUE, SOLUTION_OPENS = OPENS + 11 * DAY, OPENS + 14 * DAY
TYPED = Measured(
    acceleration=tuple(
        parse_quantity(f"{value} m/s²", "acceleration") for value in (1.38, 1.40, 1.41, 1.39)
    ),
    excluded=(Excluded(trial="2", because="=HYPERLINK the cable dragged"),),
    whose="bench",
)


def given(measured: Measured | None, data_opens: datetime | None = DATA_OPENS) -> CourseData:
    return course(
        term("2027-spring", lab("level", OPENS, data_opens=data_opens, measured=measured))
    )


TYPED_IN, NOTHING = given(TYPED), given(None)


@pytest.fixture(scope="session")
def recorded(tmp_path_factory: pytest.TempPathFactory) -> Callable[[], CourseData]:
    """A course with the records of three simulated trials, one in a file of its own each."""
    folder = tmp_path_factory.mktemp("trials")
    behaviour = Behaviour(position_rate=50, force_rate=50)
    gravity = Estimate(value=9.80665, u=0.0)
    trials = simulate(LEVEL.variant, gravity, trials=3, seed=2, behaviour=behaviour)
    files = []
    for trial in trials:
        file = folder / f"{trial.record.name}.csv"
        file.write_text(csv_of([trial], seed=2), encoding="utf-8")
        files.append(file)
    measured = Measured(pattern="*.csv", files=tuple(files), whose="simulation")
    return cache(lambda: given(measured))


def markdown(built: dict[str, str]) -> set[str]:
    return {path.removeprefix(f"{FOLDER}/") for path in built if path.endswith(".md")}


# ---- when


@pytest.mark.parametrize(
    ("now", "there"),
    [
        (OPENS - DAY, set()),
        (OPENS, {"report.md"}),
        (DATA_OPENS, {"report.md", "data.md"}),
        (SOLUTION_OPENS, {"report.md", "data.md", "solution.md"}),
    ],
)
def test_each_page_opens_at_its_date(now: datetime, there: set[str]) -> None:
    found = markdown(pages(TYPED_IN, now))
    assert found & {"report.md", "data.md", "solution.md"} == there


def test_trials_without_a_date_wait_for_the_solution() -> None:
    data = given(TYPED, data_opens=None)
    assert "data.md" not in markdown(pages(data, DUE))
    assert "data.md" in markdown(pages(data, SOLUTION_OPENS))


def test_a_lab_without_trials_has_no_such_page_and_no_comparison() -> None:
    built = pages(NOTHING, SOLUTION_OPENS)
    assert "data.md" not in markdown(built)
    assert "{#verdict" not in built[f"{FOLDER}/solution.md"]
    assert "Trials" not in built[f"{FOLDER}/prelab.md"].split("\n\n")[3]


# ---- what is held back


def test_the_report_holds_nothing_of_the_trials_or_of_results() -> None:
    with_trials = pages(TYPED_IN, OPENS)[f"{FOLDER}/report.md"]
    without = pages(NOTHING, OPENS)[f"{FOLDER}/report.md"]
    links = "Trials \\(opens on [^)]*\\) · "
    assert re.sub(links, "", with_trials) == re.sub(links, "", without)


def test_other_trials_change_no_byte_before_they_are_open() -> None:
    pull = (parse_quantity("0.7 N ± 0.1 N", "force"),)
    other = replace(TYPED, acceleration=None, tension=pull, excluded=())
    now = DATA_OPENS - DAY
    assert pages(TYPED_IN, now) == pages(given(other), now)


def test_the_trials_page_knows_no_prediction() -> None:
    """Other masses shift every prediction; of trials that can be the lab's nothing may change."""
    shift = lab("level", OPENS, "530.0 g", data_opens=DATA_OPENS, measured=TYPED)
    before = pages(TYPED_IN, DATA_OPENS)
    after = pages(course(term("2027-spring", shift)), DATA_OPENS)
    mine = [path for path in before if "/data" in path]
    assert len(mine) > 3
    assert {path: after[path] for path in mine} == {path: before[path] for path in mine}


# ---- what they hold


@pytest.mark.drawn
def test_simulated_data_are_named_as_such_wherever_they_are(
    recorded: Callable[[], CourseData],
) -> None:
    built = pages(recorded(), SOLUTION_OPENS)
    assert "The trials are simulated." in built[f"{FOLDER}/data.md"]
    drawings = [
        content
        for path, content in built.items()
        if path.endswith(".svg") and re.search(r"-(record|scatter)", path)
    ]
    assert len(drawings) > 6
    assert all("The data are simulated." in drawing for drawing in drawings)
    for name in ("trials", "records"):
        rows = built[f"{FOLDER}/data/{name}.csv"].splitlines()[1:]
        assert {row.split(",")[1] for row in rows} == {"simulated"}


def test_measured_data_are_not_called_simulated() -> None:
    built = pages(TYPED_IN, SOLUTION_OPENS)
    assert "The trials were measured at one bench of this lab." in built[f"{FOLDER}/data.md"]
    named = [path for path in built if "simulated" in built[path]]
    assert named == [f"{FOLDER}/data/trials.schema.json"]  # the two words that a row may have


def test_files_are_linked_with_their_descriptions(recorded: Callable[[], CourseData]) -> None:
    built = pages(recorded(), DATA_OPENS)
    page = built[f"{FOLDER}/data.md"]
    links = re.findall(r"\]\((data/[^)]+)\)", page)
    assert links == [
        *("data/trials.csv", "data/trials.schema.json"),
        *("data/records.csv", "data/records.schema.json"),
    ]
    assert all(f"{FOLDER}/{link}" in built for link in links)


def test_records_that_were_downloaded_can_be_read_again(
    recorded: Callable[[], CourseData], tmp_path: Path
) -> None:
    file = tmp_path / "records.csv"
    file.write_text(pages(recorded(), DATA_OPENS)[f"{FOLDER}/data/records.csv"], "utf-8")
    records = read_all([file])
    assert [record.name for record in records] == ["trial-01", "trial-02", "trial-03"]
    assert all(record.simulated for record in records)
    assert {note for record in records for note in record.notes} >= {
        "the file says that the data are simulated"
    }


def test_numbers_are_explained_where_there_are_any(recorded: Callable[[], CourseData]) -> None:
    built = pages(recorded(), DATA_OPENS)
    assert "keeps two more digits than its result and is underlined" in built[f"{FOLDER}/data.md"]
    assert "underlined" not in built[f"{FOLDER}/report.md"]
    assert "{#safety}" in built[f"{FOLDER}/report.md"]


def test_every_step_of_the_contents_is_on_its_page(recorded: Callable[[], CourseData]) -> None:
    built = pages(recorded(), SOLUTION_OPENS)
    for name in ("report", "data", "solution"):
        page = built[f"{FOLDER}/{name}.md"]
        contents = page.split('<div class="fw-contents" markdown="1">')[1].split("</div>")[0]
        listed = re.findall(r"\]\(#([a-z0-9-]+)\)", contents)
        headings = re.findall(r"^##+ .* \{#([a-z0-9-]+)", page, re.MULTILINE)
        assert set(listed) == {each for each in headings if not each.startswith("part-")}
        assert len(listed) == len(set(listed))


def test_report_trials_and_solution_share_the_ids_of_their_steps(
    recorded: Callable[[], CourseData],
) -> None:
    built = pages(recorded(), SOLUTION_OPENS)
    ids = {
        name: set(re.findall(r"^### .* \{#([a-z0-9-]+)", built[f"{FOLDER}/{name}.md"], re.M))
        for name in ("report", "data", "solution")
    }
    assert {"how-acceleration", "how-tension", "summary", "window"} <= ids["report"] & ids["data"]
    assert {"verdict", "discrepancy", "influences"} <= ids["report"] & ids["solution"]


def test_a_step_s_own_page_lists_where_it_stands(recorded: Callable[[], CourseData]) -> None:
    built = pages(recorded(), SOLUTION_OPENS)
    page = built[f"step/{LEVEL.scenario.id}/how-acceleration.md"]
    assert f"(../../{FOLDER}/report.md#how-acceleration)" in page
    assert f"(../../{FOLDER}/data.md#how-acceleration)" in page


def test_a_zero_set_while_held_shares_its_mass_with_the_prediction(
    recorded: Callable[[], CourseData],
) -> None:
    """The page's own equation for u of the difference has the common part in it."""
    ((measured,),) = [[lab.measured for lab in term.labs] for term in recorded().terms]
    assert measured is not None
    held = given(replace(measured, zero="held"))
    common = r"- 2 \, u_\mathrm{T,common}^2"
    assert common in pages(held, SOLUTION_OPENS)[f"{FOLDER}/solution.md"]
    assert common not in pages(recorded(), SOLUTION_OPENS)[f"{FOLDER}/solution.md"]
    assert "as masses and g have it" in pages(held, DATA_OPENS)[f"{FOLDER}/data.md"]


def test_the_staff_edition_has_them_before_they_open() -> None:
    built = pages(TYPED_IN, OPENS, "staff")
    assert {"report.md", "data.md", "solution.md"} <= markdown(built)


def test_front_matter_says_what_the_pages_are() -> None:
    built = pages(TYPED_IN, DATA_OPENS)
    for name, title in (("report", "Report"), ("data", "Trials")):
        front = head(built[f"{FOLDER}/{name}.md"])
        assert f"page: {name}" in front
        assert f"title: '{title}: " in front or f'title: "{title}: ' in front
