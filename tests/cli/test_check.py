"""``fallwork check`` says what it read, or everything that is wrong."""

import shutil
from datetime import UTC, datetime
from pathlib import Path

import pytest
import yaml

from cli.runner import Run
from democourse import PROJECT, exchange
from fallwork.planning.published import published_by
from fallwork.scenario import frozen_path, frozen_text, load_course

TERM = "site-data/terms/2027-spring.yaml"
CASES = yaml.safe_load(Path(__file__).with_name("checks.yaml").read_text("utf-8"))


@pytest.mark.parametrize("case", CASES)
def test_a_course_with_texts_exchanged(case: str, folder: Path, run: Run) -> None:
    given = CASES[case]
    for file, (old, new) in given.get("edits", {}).items():
        exchange(folder / "site-data" / file, old, new)
    status, output, messages = run("check", *given.get("words", ()))
    assert (status, messages) == (2 if "messages" in given else 0, given.get("messages", ""))
    if "output" in given or "messages" in given:
        assert output == given.get("output", "")
    assert [output.count(words) for words in given.get("says", ())] == [1] * len(
        given.get("says", ())
    )
    assert not [words for words in given.get("silent about", ()) if words in output]
    assert given.get("notes") in (None, output.count(": note: level: "))


def test_a_scenario_that_no_lab_uses_is_told_too(folder: Path, run: Run) -> None:
    scenario = (folder / "site-data/scenarios/level.yaml").read_text("utf-8")
    steeper = scenario.replace("slope: 0 deg", "slope: -20 deg")
    (folder / "site-data/scenarios/spare.yaml").write_text(steeper, "utf-8")
    # By hand: a = (0.080 + 0.420 (sin 20° - 0.008 cos 20°)) g/0.500, T = 0.080 (g - a).
    assert run("check")[1].splitlines()[2] == (
        "scenarios/spare: the cart goes 0.600 m down the track in 0.527 s until the hanging "
        "mass lands; "
        "a = 4.32 m/s², T = 0.439 N"
    )


def test_the_numbers_of_an_earlier_term_with_other_dates_are_refused(
    folder: Path, run: Run
) -> None:
    text = (folder / TERM).read_text("utf-8")
    (folder / "site-data/terms/2028-spring.yaml").write_text(text.replace("2027", "2028"), "utf-8")
    status, output, messages = run("check")
    assert (status, output) == (2, "")
    assert messages == (
        "site-data/terms/2028-spring.yaml:4:14: level: the solution of level in 2027-spring, "
        "open from 2027-02-15 on, shows every result that this lab holds back until 2028-02-15: "
        "time of the run: 0.887 s; acceleration of the cart: 1.40 m/s²; "
        "final velocity of the cart: 1.24 m/s; …; "
        "give it other numbers, or let that page open no earlier than its own solution\n"
    )


def test_two_labs_of_one_title_are_worth_a_note(folder: Path, run: Run) -> None:
    term = folder / TERM
    lab = term.read_text("utf-8").split("labs:\n")[1].replace("level:", "make-up:", 1)
    again = lab.replace("make-up:", "make-up:\n    scenario: level", 1)
    term.write_text(term.read_text("utf-8") + again, "utf-8")
    assert (
        f"{TERM}:9:3: note: make-up has the title of another lab, so pages add its id; "
        "give it a title of its own\n"
    ) in run("check")[1]


def test_a_published_number_that_changed_is_told(folder: Path, run: Run) -> None:
    exchange(folder / TERM, "opens: 2027-02-01", "opens: 2020-02-01")
    data = load_course(folder / "site-data")
    ((_, frozen),) = published_by(data, datetime(2021, 1, 1, tzinfo=UTC)).items()
    record = frozen_path(data.root, "2027-spring", "level")
    record.parent.mkdir(parents=True)
    record.write_text(frozen_text(frozen), "utf-8")
    exchange(folder / TERM, "cart.mass: 512.0 g", "cart.mass: 507.3 g")
    status, output, messages = run("check")
    assert status == 2
    assert output.startswith(
        "site-data: 1 scenario, 1 term, 1 lab: nothing wrong, but not as it was published\n"
    )
    assert messages.startswith(
        f"{TERM}:4:26: level: cart.mass was published as 512.0 g ± 0.1 g and would now be 507.3 g"
    )


def test_an_address_that_would_be_lost_is_told_before_anything_is_built(
    folder: Path, run: Run
) -> None:
    exchange(folder / TERM, "opens: 2027-02-01", "opens: 2020-02-01")
    record = folder / "site-data/published/addresses.yaml"
    record.parent.mkdir()
    known = ["2027-spring/level/prelab.html#tension", "step/level/tension.html", "mine.html#there"]
    since = "- since: '2021-01-01T00:00:00+00:00'\n  addresses: "
    record.write_text(f"{since}{known}\n", "utf-8")
    assert run("check")[0] == 0
    record.write_text(f"{since}{[*known, '2027-spring/level/prelab.html#pull']}\n", "utf-8")
    status, _, messages = run("check")
    assert (status, messages) == (
        2,
        "2027-spring/level/prelab.html#pull has been published and would lead nowhere; declare "
        'the step under former_steps in its scenario, or leave <span id="pull"></span> where a '
        "heading of your own stood\n",
    )


def test_a_record_that_is_spoiled_is_told(folder: Path, run: Run) -> None:
    record = folder / "site-data/published/addresses.yaml"
    record.parent.mkdir()
    record.write_text("{", "utf-8")
    assert run("check")[2] == (
        "site-data/published/addresses.yaml is not as the program wrote it; "
        "restore it from version control\n"
    )


def test_a_page_at_which_a_publication_would_stop_is_told(folder: Path, run: Run) -> None:
    shutil.copy(PROJECT / "mkdocs.yml", folder)
    (folder / "content").mkdir()
    for name in ("reading", "safety", "tips"):
        (folder / f"content/{name}.md").write_text(f"# {name}\n", encoding="utf-8")
    assert run("check")[1].endswith(
        "content/tips.md:1:1: note: a page to which nav in mkdocs.yml doesn't lead; add `- tips.md`"
        " below nav or, where links are enough, write `not_in_nav: tips.md`\n"
    )


def test_trials_copied_from_another_lab_are_told(folder: Path, run: Run) -> None:
    speeds = "\n    measured: {final_speed: [1.24 m/s, 1.26 m/s, 1.25 m/s, 1.23 m/s]}"
    exchange(folder / TERM, "\n    opens: 2027-02-01", f"\n    opens: 2027-02-01{speeds}")
    later = (folder / TERM).read_text("utf-8").replace("2027-0", "2028-0").replace("2027", "2028")
    other = folder / "site-data/terms/2028-spring.yaml"
    other.write_text(later.replace("512.0 g", "522.0 g").replace("120.0 g", "130.0 g"), "utf-8")
    words = (
        "site-data/terms/2028-spring.yaml:7:15: note: level: the values of final_speed are those "
        "of level in 2027-spring; were they measured in this lab too?\n"
    )
    assert words in run("check")[1]
    exchange(other, "1.26 m/s", "1.27 m/s")
    assert "are those of level" not in run("check")[1]
