"""``fallwork trace`` says what a number may be; the cases stand in ``traced.yaml``."""

from pathlib import Path
from typing import Any

import pytest
import yaml

from democourse import Run

CASES: dict[str, dict[str, Any]] = yaml.safe_load(
    Path(__file__).with_name("traced.yaml").read_text("utf-8")
)


@pytest.fixture(autouse=True)
def _a_year_ago(folder: Path) -> None:
    """The lab runs now: its solution is far away."""
    term = folder / "site-data/terms/2027-spring.yaml"
    text = term.read_text("utf-8").replace("opens: 2027-02-01", "opens: 2020-02-01", 1)
    term.write_text(
        text.replace("due: 2027", "due: 2090").replace("n_opens: 2027", "n_opens: 2091")
    )


@pytest.mark.parametrize("name", CASES)
def test_a_number_is_told(name: str, run: Run) -> None:
    case = CASES[name]
    status, output, messages = run(*case["call"].split())
    assert (status, messages) == (0, "")
    assert output == case.get("says", output)
    lines = [line for line in output.splitlines() if line in case.get("tells", ())]
    assert lines == case.get("tells", [])
    assert case.get("words", "") in output
    assert "not" not in case or case["not"] not in output


def test_own_numbers_are_put_into_the_labs_that_have_such_a_thing(folder: Path, run: Run) -> None:
    scenario = (folder / "site-data/scenarios/level.yaml").read_text("utf-8")
    other = scenario.replace("cart", "glider").replace("kind: glider", "kind: cart")
    (folder / "site-data/scenarios/lone.yaml").write_text(other)
    term = folder / "site-data/terms/2027-spring.yaml"
    lab = term.read_text("utf-8").split("labs:\n")[1].replace("level:", "lone:")
    term.write_text(term.read_text("utf-8") + lab.replace("cart.mass", "glider.mass"), "utf-8")
    output = run("trace", "0.763", "--set", "glider.mass=507g")[1]
    labs = [line for line in output.splitlines() if line[0] != " "]
    assert labs == ["lone in 2027-spring, glider.mass=507g"]
    assert run("trace", "0.763", "--set", "glidr.mass=507g")[2] == (
        '--set glidr.mass=507g:1:1: unknown name "glidr"; did you mean "glider"?\n'
    )


def test_the_address_is_whole_where_the_site_is_known(folder: Path, run: Run) -> None:
    course = folder / "site-data/course.yaml"
    course.write_text(course.read_text("utf-8") + "url: https://lab.example.org\n", "utf-8")
    address = "https://lab.example.org/2027-spring/level/example.html#tension\n"
    assert run("trace", "0.757")[1].endswith(address)
