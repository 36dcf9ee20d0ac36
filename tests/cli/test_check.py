"""``fallwork check`` says what it read, or everything that is wrong."""

import shutil
from datetime import UTC, datetime
from pathlib import Path

from cli.runner import Run
from democourse import PROJECT
from fallwork.planning import published_by
from fallwork.scenario import frozen_path, frozen_text, load_course


def edit(path: Path, old: str, new: str) -> None:
    text = path.read_text("utf-8")
    assert old in text
    path.write_text(text.replace(old, new), "utf-8")


TERM = "site-data/terms/2027-spring.yaml"
# By hand: a = (0.090 - 0.008 x 0.512) x 9.80665 / 0.602 = 1.3994 m/s2, T = 0.090 (g - a).
GOES = (
    "the cart goes 0.550 m forward in 0.887 s until the hanging mass lands; a = 1.40 m/s², "
    "T = 0.757 N"
)
SCENARIO_GOES = (
    "the cart goes 0.600 m forward in 0.893 s until the hanging mass lands; a = "
    "1.50 m/s², T = 0.664 N"
)


def test_a_course_in_order(folder: Path, run: Run) -> None:
    edit(folder / TERM, "example: {weight.mass: 120.0 g}", "example: auto")
    assert run("check") == (
        0,
        f"site-data: 1 scenario, 1 term, 1 lab: nothing wrong\n2027-spring/level: {GOES}\n"
        "site-data/course.yaml: note: without url, what staff copy begins at the root of the "
        "students’ site and can't be sent as it is; add where the site will stand, e.g. url: "
        "https://lab.example.org/\n",
        "",
    )
    course = folder / "site-data/course.yaml"
    course.write_text(course.read_text("utf-8") + "url: https://x.example/\n", "utf-8")
    assert "url" not in run("check")[1]


def test_a_scenario_file_in_order(folder: Path, run: Run) -> None:
    path = "site-data/scenarios/level.yaml"
    assert run("check", path) == (0, f"{path}: nothing wrong\n{path}: {SCENARIO_GOES}\n", "")


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


def test_every_lab_says_what_happens_and_where_that_is_not_the_scenario_s(
    folder: Path, run: Run
) -> None:
    edit(folder / TERM, "cart.mass: 512.0 g", "cart.mass: 512.0 g, track.slope: 20 deg")
    lines = run("check")[1].splitlines()
    # By hand: sin 20° x 0.512 kg > 0.090 kg: a = (0.512 (sin 20° - 0.008 cos 20°) - 0.090) g/0.602.
    assert lines[1] == (
        "2027-spring/level: the cart goes 0.250 m down the track in 0.615 s until it reaches the "
        "back end of the track; a = 1.32 m/s², T = 1.00 N"
    )
    assert lines[2:4] == [
        f"{TERM}:3:3: note: level: The cart reaches the back end of the track before the "
        f"hanging mass "
        "has covered 0.550 m: shorten the distance, or start elsewhere.",
        f"{TERM}:3:3: note: level: The cart goes the other way than in the scenario: there "
        f"{SCENARIO_GOES}.",
    ]


def test_an_example_that_goes_otherwise_is_told(folder: Path, run: Run) -> None:
    edit(folder / TERM, "example: {weight.mass: 120.0 g}", "example: {track.friction: 0.3}")
    assert (
        f"{TERM}:3:3: note: level: In the example nothing moves, but here something does.\n"
        f"{TERM}:5:31: note: level: track.friction is 0.3: a cart that rolls well has less than "
        "0.1; is the decimal point in the right place?\n"
    ) in run("check")[1]


def test_a_number_in_doubt_is_told_once_where_it_stands(folder: Path, run: Run) -> None:
    edit(folder / TERM, "cart.mass: 512.0 g", "cart.mass: 620 kg")
    output = run("check")[1]
    assert output.splitlines()[1] == "2027-spring/level: nothing moves; T = 0.883 N"
    assert output.count(f"{TERM}:4:26: note: level: cart.mass is 620 kg: carts in a lab ") == 1
    edit(folder / TERM, "cart.mass: 620 kg", "cart.mass: 512 g")
    edit(folder / "site-data/scenarios/level.yaml", "mass: 80.0 g ± 0.1 g", "mass: 80 kg")
    assert run("check")[1].count("site-data/scenarios/level.yaml:4:33: note: weight.mass is ") == 1


def test_trials_with_a_date_that_are_not_there_are_worth_a_note(folder: Path, run: Run) -> None:
    edit(folder / TERM, "    due:", "    data_opens: 2027-02-08\n    due:")
    assert (
        f"{TERM}:7:17: note: level: the trials are to open on 2027-02-08, but there are none: add "
        "measured, or take data_opens out, because no page opens then.\n"
    ) in run("check")[1]


def test_every_problem_of_every_file_is_told_on_the_error_stream(folder: Path, run: Run) -> None:
    edit(folder / "site-data/scenarios/level.yaml", "mass: 80.0 g ± 0.1 g", "mass: 80.0 s")
    edit(folder / "site-data/course.yaml", "time_zone: Europe/Berlin", "time_zone: Europe/Berlim")
    status, output, messages = run("check")
    assert (status, output) == (2, "")
    assert messages == (
        'site-data/course.yaml:3:12: unknown time zone "Europe/Berlim"; '
        'did you mean "Europe/Berlin"?\n'
        'site-data/scenarios/level.yaml:4:33: "80.0 s" is a time; a mass is given in kg, g or mg\n'
    )


def test_a_good_path_is_told_beside_a_bad_one(folder: Path, run: Run) -> None:
    good, bad = "site-data/scenarios/level.yaml", "site-data/scenarios/levle.yaml"
    status, output, messages = run("check", bad, good)
    assert (status, output) == (2, f"{good}: nothing wrong\n{good}: {SCENARIO_GOES}\n")
    assert messages == f"{bad}:1:1: there is no such file; site-data/scenarios holds level.yaml\n"


def test_without_a_course_it_says_where_it_looked(
    tmp_path: Path, run: Run, monkeypatch: object
) -> None:
    status, output, messages = run("check", str(tmp_path))
    assert (status, output) == (2, "")
    assert messages == (
        f"{tmp_path}/course.yaml:1:1: there is no such file; {tmp_path} holds no YAML files\n"
    )


def test_an_end_that_is_not_watched_is_worth_a_note(folder: Path, run: Run) -> None:
    edit(folder / "site-data/scenarios/level.yaml", ", starts_at: 0.25 m", "")
    status, output, _ = run("check")
    assert status == 0
    assert output.split("\n")[2] == (
        "site-data/scenarios/level.yaml:3:3: note: without starts_at of cart, "
        "nothing tells whether the cart reaches the end of the track"
    )


def test_results_that_the_example_shows_too_are_worth_a_note(folder: Path, run: Run) -> None:
    # The example changes the hanging weight alone, so the cart presses and rubs as before.
    status, output, _ = run("check")
    assert status == 0
    assert output.split("\n")[2] == (
        f"{TERM}:5:14: note: level: the worked example of level in 2027-spring, open from "
        "2027-02-01 on, shows results that this lab holds back until 2027-02-15: "
        "friction of the track on the cart: 0.0402 N; "
        "normal force of the track on the cart: 5.02 N; "
        "work of friction of the track on the cart (system “The cart alone”): −0.0221 J; …"
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
    edit(folder / TERM, "opens: 2027-02-01", "opens: 2020-02-01")
    data = load_course(folder / "site-data")
    ((_, frozen),) = published_by(data, datetime(2021, 1, 1, tzinfo=UTC)).items()
    record = frozen_path(data.root, "2027-spring", "level")
    record.parent.mkdir(parents=True)
    record.write_text(frozen_text(frozen), "utf-8")
    edit(folder / TERM, "cart.mass: 512.0 g", "cart.mass: 507.3 g")
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
    edit(folder / TERM, "opens: 2027-02-01", "opens: 2020-02-01")
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


# ---- the design of the numbers


def test_numbers_that_give_poor_data_are_worth_a_note(folder: Path, run: Run) -> None:
    # By hand: a = (0.012 - 0.008 x 0.512) x 9.80665 / 0.524 = 0.1479 m/s2, 1 - T/mg = a/g = 1.5 %;
    # without friction 0.2246 m/s2, so friction takes 34 %.
    edit(folder / TERM, "weight.mass: 90.0 g", "weight.mass: 12.0 g")
    notes = [line for line in run("check")[1].split("\n") if ": note: level: " in line]
    told = [line.removeprefix(f"{TERM}:3:3: note: level: ") for line in notes]
    assert told[0].startswith("Friction takes away 34 % of the acceleration of the cart, so ")
    assert told[1].startswith(
        "The pull of the string differs from gravity on the hanging mass by only 1.5 %, so "
    )
    assert told[2].startswith("The predicted acceleration is uncertain by ")
    assert told[3].startswith(f"{TERM}:5:14: note: level: the worked example of level in ")
    assert len(told) == 4


def test_a_scenario_file_alone_is_reviewed_too(folder: Path, run: Run) -> None:
    path = "site-data/scenarios/level.yaml"
    edit(folder / path, "length: 1.20 m", "length: 0.90 m")  # 0.90 - 0.25 - 0.60 = 0.05
    assert run("check", path)[1] == (
        f"{path}: nothing wrong\n{path}: {SCENARIO_GOES}\n"
        f"{path}:10:1: note: When the driven part ends, the cart has only 0.050 m left in front of "
        "it: let it start farther back, or shorten the distance.\n"
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


def test_what_can_not_be_of_the_lab_is_told_at_the_value_with_what_would_fit(
    folder: Path, run: Run
) -> None:
    values = (
        "\n    data_opens: 2027-02-08\n    measured:\n      tension: {value: 7.57 N, n: 4}\n"
        "      final_speed: [1.24 m/s, 124 m/s, 1.25 m/s, 1.23 m/s]"
    )
    edit(folder / TERM, "\n    opens: 2027-02-01", f"\n    opens: 2027-02-01{values}")
    said = run("check")[1]
    assert ": 1 trial and 1 mean that can't be of the lab\n" in said
    assert (
        f"{TERM}:10:31: note: level: trial 2 doesn't count: a final speed of 124 m/s can't be "
        "this lab's (probably in cm/s); this lab's numbers give 1.24 m/s; write exclude: [{trial: 2"
        ", because: …}], or the same after include: if it is right\n"
    ) in said
    assert (
        f"{TERM}:9:24: note: level: mean tension doesn't count: a tension of 7.57 N can't be this "
        "lab's (10 times too large: probably the decimal point or the unit); this lab's numbers "
        "give 0.757 N; write exclude: [{trial: tension, because: …}], or the same after include: "
        "if it is right\n"
    ) in said


def test_trials_copied_from_another_lab_are_told(folder: Path, run: Run) -> None:
    speeds = "\n    measured: {final_speed: [1.24 m/s, 1.26 m/s, 1.25 m/s, 1.23 m/s]}"
    edit(folder / TERM, "\n    opens: 2027-02-01", f"\n    opens: 2027-02-01{speeds}")
    later = (folder / TERM).read_text("utf-8").replace("2027-0", "2028-0").replace("2027", "2028")
    other = folder / "site-data/terms/2028-spring.yaml"
    other.write_text(later.replace("512.0 g", "522.0 g").replace("120.0 g", "130.0 g"), "utf-8")
    words = (
        "site-data/terms/2028-spring.yaml:7:15: note: level: the values of final_speed are those "
        "of level in 2027-spring; were they measured in this lab too?\n"
    )
    assert words in run("check")[1]
    edit(other, "1.26 m/s", "1.27 m/s")
    assert "are those of level" not in run("check")[1]
