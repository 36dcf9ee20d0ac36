"""``fallwork key``: the answer key, for programs and for people."""

import json
import math
from pathlib import Path
from typing import Any

import pytest

from cli.runner import Run
from democourse import exchange
from longtrain import long_train

REPOSITORY = Path(__file__).parents[2]
LEVEL_TRACK = str(REPOSITORY / "site-data/scenarios/level-track.yaml")
# The agreed layout with its ten-digit values, for m₁ = 0.420 kg, m₂ = 0.080 kg, μ = 0.008,
# d = 0.600 m, g = 9.80665 m/s²: a = (m₂ − μ m₁) g/(m₁ + m₂), T = m₂ (g − a), t = √(2 d/a), v = a t.
SAMPLE = json.loads((Path(__file__).parent / "data/key-sample.json").read_text("utf-8"))


def key_json(run: Run, *words: str) -> dict[str, Any]:
    status, output, messages = run("key", *words, "--json")
    assert (status, messages) == (0, "")
    return json.loads(output)


def assert_same(found: Any, expected: Any, where: str = "key") -> None:
    """The same keys and texts, and numbers to the ten digits of the sample."""
    if isinstance(expected, dict):
        assert set(found) == set(expected), where
        for name, value in expected.items():
            assert_same(found[name], value, f"{where}.{name}")
    elif isinstance(expected, float):
        assert math.isclose(found, expected, rel_tol=2e-10, abs_tol=1e-15), where
    else:
        assert found == expected, where


@pytest.fixture(scope="module")
def sample() -> dict[str, Any]:
    from click.testing import CliRunner

    from fallwork.cli import main

    result = CliRunner().invoke(main, ["key", LEVEL_TRACK, "--json"], catch_exceptions=False)
    return json.loads(result.stdout)


def test_the_sample_s_head_is_reproduced(sample: dict[str, Any]) -> None:
    expected = {key: value for key, value in SAMPLE.items() if key != "phases"}
    assert_same({key: value for key, value in sample.items() if key != "phases"}, expected)


def test_the_sample_s_driven_phase_is_reproduced(sample: dict[str, Any]) -> None:
    expected = {key: value for key, value in SAMPLE["phases"][0].items() if key != "systems"}
    found = {key: value for key, value in sample["phases"][0].items() if key != "systems"}
    assert_same(found, expected)


@pytest.mark.parametrize("number", [0, 1])
def test_the_sample_s_systems_are_reproduced(sample: dict[str, Any], number: int) -> None:
    expected = SAMPLE["phases"][0]["systems"][number]
    found = [
        each for each in sample["phases"][0]["systems"] if each["members"] == expected["members"]
    ]
    assert len(found) == 1
    assert_same(found[0], expected)


def test_every_choice_of_system_is_there_once_in_every_phase(sample: dict[str, Any]) -> None:
    things = ["Earth", "cart", "pulley", "string", "track", "weight"]
    for phase in sample["phases"]:
        members = [tuple(each["members"]) for each in phase["systems"]]
        assert len(set(members)) == len(members) == 2 ** len(things) - 1
        assert all(list(each) == sorted(each) for each in members)


def test_every_system_of_every_phase_balances(sample: dict[str, Any]) -> None:
    for phase in sample["phases"]:
        for each in phase["systems"]:
            works, changes = each["external_works"].values(), each["energy_changes"].values()
            noise = 1e-12 * sum(map(abs, [*works, *changes]))
            assert math.isclose(sum(works), each["external_work"], abs_tol=noise)
            assert math.isclose(sum(changes), each["energy_change"], abs_tol=noise)
            assert abs(each["external_work"] - each["energy_change"]) <= noise


def test_no_zero_has_a_sign(folder: Path, run: Run) -> None:
    _, output, _ = run("key", "level", "--json")
    assert "-0.0," not in output
    assert "-0.0\n" not in output


def test_other_numbers_are_put_in_with_set(folder: Path, run: Run) -> None:
    # a = (m₂ − μ m₁) g/(m₁ + m₂) with m₁ = 0.5073 kg, m₂ = 0.0905 kg, worked by hand
    key = key_json(run, "level", "--set", "cart.mass=507.3g", "--set", "weight.mass = 90.5 g")
    expected = (0.0905 - 0.008 * 0.5073) * 9.80665 / (0.5073 + 0.0905)
    assert key["phases"][0]["accelerations"]["cart"] == pytest.approx(expected, rel=1e-12)


def test_a_term_s_numbers_are_used_with_term(folder: Path, run: Run) -> None:
    key = key_json(run, "level", "--term", "2027-spring")
    expected = (0.0900 - 0.008 * 0.5120) * 9.80665 / (0.5120 + 0.0900)
    assert key["phases"][0]["accelerations"]["cart"] == pytest.approx(expected, rel=1e-12)
    assert key["phases"][0]["displacements"]["cart"] == pytest.approx(0.550, rel=1e-12)


def test_set_goes_over_a_term_s_numbers(folder: Path, run: Run) -> None:
    key = key_json(run, "level", "--term", "2027-spring", "--set", "run.distance=0.4m")
    assert key["phases"][0]["displacements"]["cart"] == pytest.approx(0.4, rel=1e-12)


def test_an_id_and_its_file_give_the_same(folder: Path, run: Run) -> None:
    by_file = run("key", "site-data/scenarios/level.yaml", "--json")
    assert run("key", "level", "--json") == by_file


def test_a_lab_is_found_by_its_own_id(folder: Path, run: Run) -> None:
    term = folder / "site-data/terms/2027-spring.yaml"
    exchange(term, "  level:\n", "  make-up:\n    scenario: level\n")
    by_lab = key_json(run, "make-up", "--term", "2027-spring")
    assert by_lab == key_json(run, "level", "--term", "2027-spring")
    assert by_lab["scenario"] == "level"


def test_gravity_is_the_course_s_by_latitude_and_height(folder: Path, run: Run) -> None:
    course = folder / "site-data/course.yaml"
    text = course.read_text("utf-8")
    place = "latitude: 45 deg\nheight: 1000 m"
    course.write_text(text.replace("gravity: 9.80665 m/s²", place), "utf-8")
    # GRS80 normal gravity at 45° is 9.806199203 m/s² (H. Moritz 1980; from memory), and a metre
    # higher it is 3.086e-6 m/s² less
    assert key_json(run, "level")["gravity"] == pytest.approx(9.806199203 - 3.086e-3, abs=1e-9)


def test_a_scenario_without_a_course_is_calculated_with_standard_gravity(
    folder: Path, run: Run, tmp_path_factory: pytest.TempPathFactory
) -> None:
    alone = tmp_path_factory.mktemp("alone") / "level.yaml"
    alone.write_bytes((folder / "site-data/scenarios/level.yaml").read_bytes())
    assert key_json(run, str(alone))["gravity"] == 9.80665


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["levle"], 'no scenario is called "levle"; did you mean "level"?\n'),
        (
            ["level", "--term", "2028-spring"],
            'no term is called "2028-spring"; did you mean "2027-spring"?\n',
        ),
        (
            ["track", "--term", "2027-spring"],
            'no lab of 2027-spring is called "track"; there is level\n',
        ),
        (
            ["level", "--set", "cart.mass"],
            '--set cart.mass:1:1: no = in "cart.mass"; write e.g. cart.mass=507.3g\n',
        ),
        (
            ["level", "--set", "cat.mass=1kg"],
            '--set cat.mass=1kg:1:1: unknown name "cat"; did you mean "cart"?\n',
        ),
        (
            ["site-data/scenarios/levle.yaml"],
            "site-data/scenarios/levle.yaml:1:1: there is no such file; "
            "site-data/scenarios holds level.yaml\n",
        ),
    ],
)
def test_what_leads_to_nothing_is_told(
    folder: Path, run: Run, words: list[str], message: str
) -> None:
    assert run("key", *words) == (2, "", message)


def test_the_id_of_a_lab_counts_before_that_of_a_scenario(folder: Path, run: Run) -> None:
    """The lab "level" has another set-up, and the set-up "level" is another lab's."""
    scenarios, term = folder / "site-data/scenarios", folder / "site-data/terms/2027-spring.yaml"
    text = (scenarios / "level.yaml").read_text("utf-8")
    (scenarios / "second.yaml").write_text(text, "utf-8")
    head, entry = term.read_text("utf-8").split("  level:\n")
    term.write_text(
        f"{head}  level:\n    scenario: second\n{entry}"
        f"  other:\n    scenario: level\n{entry.replace('512.0 g', '600.0 g')}",
        "utf-8",
    )
    assert "cart.mass       512.0 g" in run("key", "level", "--term", "2027-spring")[1]
    assert "cart.mass       600.0 g" in run("key", "other", "--term", "2027-spring")[1]


def test_inside_a_course_its_own_scenarios_are_found(
    folder: Path, run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(folder / "site-data/scenarios")
    status, output, messages = run("key", "level")
    assert (status, messages) == (0, "")
    assert "cart.mass       420.0 g" in output


def test_a_spoiled_record_of_what_was_published_is_told_by_check_alone(
    folder: Path, run: Run
) -> None:
    sound = run("key", "level", "--term", "2027-spring")
    record = folder / "site-data/published/2027-spring/level.yaml"
    record.parent.mkdir(parents=True)
    record.write_text("{", "utf-8")
    assert run("key", "level", "--term", "2027-spring") == sound
    status, output, messages = run("check")
    assert status == 2
    assert "nothing wrong, but not as it was published" in output
    assert messages.startswith(f"{record.relative_to(folder)}:1:2: ")


def test_twenty_objects_have_a_key_of_classes_with_their_members(tmp_path: Path, run: Run) -> None:
    file = tmp_path / "train.yaml"
    file.write_text(long_train(18), "utf-8")
    status, output, _ = run("key", str(file), "--json")
    assert status == 0
    assert len(output) < 1_000_000
    driven = json.loads(output)["phases"][0]["systems"]
    (lone,) = [each for each in driven if each["members"] == ["weight"]]
    assert lone["with_or_without"] == ["pulley", "track"]
    assert set(lone["external_works"]) == {
        "tension of string on weight",
        "gravity of Earth on weight",
    }
