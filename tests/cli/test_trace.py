"""``fallwork trace`` says what a number may be.

The tests' lab: 512 g, 90 g, mu = 0.008, d = 0.550 m, g = 9.80665 m/s2. By hand: a = 1.3994 m/s2,
T = m (g - a) = 0.7567 N; without friction a = 1.4661 m/s2; m g = 0.8826 N.
"""

from pathlib import Path

import pytest

from cli.runner import Run


@pytest.fixture(autouse=True)
def _a_year_ago(folder: Path) -> None:
    """The lab runs now: its solution is far away."""
    term = folder / "site-data/terms/2027-spring.yaml"
    text = term.read_text("utf-8").replace("opens: 2027-02-01", "opens: 2020-02-01", 1)
    term.write_text(
        text.replace("due: 2027", "due: 2090").replace("n_opens: 2027", "n_opens: 2091")
    )


def test_a_right_number_is_told_with_its_step(folder: Path, run: Run) -> None:
    assert run("trace", "0.757") == (
        0,
        "level in 2027-spring\n"
        "  tension of the string, T = 0.757 N: right\n"
        "    2027-spring/level/example.html#tension\n",
        "",
    )


def test_a_slip_is_told_with_what_was_done(folder: Path, run: Run) -> None:
    status, output, _ = run("trace", "1.466")
    assert status == 0
    assert output.splitlines()[1:4] == [
        "  acceleration of the cart and of the hanging mass, a, which is 1.40 m/s²:",
        "    Friction left out. (m_h g/(m_c + m_h))",
        "    2027-spring/level/example.html#acceleration",
    ]


@pytest.mark.parametrize("typed", ["0.750", "0.7507"])
def test_a_slip_that_is_nearer_within_the_digits_comes_first(
    folder: Path, run: Run, typed: str
) -> None:
    """Without friction 0.090 kg x (9.80665 - 1.4661) m/s2 = 0.75065 N."""
    lines = run("trace", typed, "N")[1].splitlines()
    assert lines[1] == "  tension of the string, T, which is 0.757 N, nearly:"
    assert lines[4] == "  tension of the string, T = 0.757 N: right, but for rounding on the way"


def test_only_the_quantity_that_is_meant_is_told(folder: Path, run: Run) -> None:
    every, meant = (run("trace", "0.883", *more)[1] for more in ((), ("--of", "T")))
    assert "time from the release" in every
    assert "time from the release" not in meant
    assert "  tension of the string, T, which is 0.757 N:\n" in meant


@pytest.mark.parametrize("typed", ["757 mN", "0.757 N", "0,757N", "75.7e-2 N"])
def test_a_unit_may_be_typed(folder: Path, run: Run, typed: str) -> None:
    assert "tension of the string, T = 0.757 N: right\n" in run("trace", typed)[1]


def test_number_and_unit_need_no_quotes(folder: Path, run: Run) -> None:
    assert run("trace", "0.757", "N") == run("trace", "0.757 N")
    assert run("trace", "-0.757", "N")[1].splitlines()[1].endswith(", with the other sign")


def test_an_option_that_is_misspelt_is_no_part_of_a_value(run: Run) -> None:
    status, output, message = run("trace", "0.757", "--tern", "2027-spring")
    assert (status, output) == (2, "")
    assert message.endswith("\nError: No such option '--tern'.\n")


def test_a_bench_has_masses_of_its_own(folder: Path, run: Run) -> None:
    # By hand: a = (0.0923 - 0.008 x 0.5302) x 9.80665 / 0.6225 = 1.3872 m/s2, T = 0.7771 N.
    own = ("--set", "cart.mass=530.2g", "--set", "weight.mass=92.3g")
    spaced = ("--set", "cart.mass=530.2", "g", *own[2:])
    assert (
        run("trace", "0.777", "N", *own)[1].partition("\n")[2]
        in run("trace", "0.777", "N", *spaced)[1]
    )
    assert run("trace", "0.777", "N", *own) == (
        0,
        "level in 2027-spring, cart.mass=530.2g, weight.mass=92.3g\n"
        "  tension of the string, T = 0.777 N: right\n"
        "    2027-spring/level/example.html#tension\n",
        "",
    )


def test_own_numbers_are_put_into_the_labs_that_have_such_a_thing(folder: Path, run: Run) -> None:
    scenario = (folder / "site-data/scenarios/level.yaml").read_text("utf-8")
    other = scenario.replace("cart", "glider").replace("kind: glider", "kind: cart")
    (folder / "site-data/scenarios/lone.yaml").write_text(other)
    term = folder / "site-data/terms/2027-spring.yaml"
    lab = term.read_text("utf-8").split("labs:\n")[1].replace("level:", "lone:")
    term.write_text(term.read_text("utf-8") + lab.replace("cart.mass", "glider.mass"), "utf-8")
    assert [
        line
        for line in run("trace", "0.763", "--set", "glider.mass=507g")[1].splitlines()
        if line[0] != " "
    ] == ["lone in 2027-spring, glider.mass=507g"]
    assert run("trace", "0.763", "--set", "glidr.mass=507g")[2] == (
        '--set glidr.mass=507g:1:1: unknown name "glidr"; did you mean "glider"?\n'
    )


def test_a_number_of_another_unit_is_another_quantity(folder: Path, run: Run) -> None:
    assert run("trace", "0.757 m/s")[1] == (
        "level in 2027-spring\n  nothing that is known gives this number\n"
    )


def test_where_nothing_gives_it_the_nearest_is_told(folder: Path, run: Run) -> None:
    assert run("trace", "1.42 m/s²")[1] == (
        "level in 2027-spring\n  nothing that is known gives this number; nearest is the "
        "acceleration of the cart and of the hanging mass, a = 1.40 m/s², 1.5 % off\n"
    )


def test_a_wrong_sign_is_told(folder: Path, run: Run) -> None:
    _, output, _ = run("trace", "-1.241", "--of", "speed")
    assert output.splitlines()[1] == (
        "  final speed of the cart and of the hanging mass, v = 1.24 m/s: right, with the other "
        "sign"
    )


def test_a_point_in_the_wrong_place_is_told(folder: Path, run: Run) -> None:
    _, output, _ = run("trace", "887", "--of", "t")
    assert output.splitlines()[1].endswith(
        "t = 0.887 s: right, 1000 times: a unit taken for another?"
    )


def test_the_address_is_whole_where_the_site_is_known(folder: Path, run: Run) -> None:
    course = folder / "site-data/course.yaml"
    course.write_text(course.read_text("utf-8") + "url: https://lab.example.org\n", "utf-8")
    address = "https://lab.example.org/2027-spring/level/example.html#tension\n"
    assert run("trace", "0.757")[1].endswith(address)


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("much",), '"much" is no value; write for example 0.89, or with its unit 0.89 N\n'),
        (("1", "--lab", "ramp"), 'no lab is called "ramp"; there is level\n'),
        (("1", "--term", "2026"), 'no term is called "2026"; there is 2027-spring\n'),
    ],
)
def test_what_cannot_be_looked_up_is_told(
    folder: Path, run: Run, words: tuple[str, ...], message: str
) -> None:
    assert run("trace", *words) == (2, "", message)


def test_an_unknown_quantity_is_told_with_the_known_ones(folder: Path, run: Run) -> None:
    status, _, message = run("trace", "1", "--of", "colour")
    assert status == 2
    assert message.startswith('no quantity is called "colour"; there is normal.cart (normal force')
