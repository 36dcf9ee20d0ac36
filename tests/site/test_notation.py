"""A course in letters and words of its own: no other is left, and every equation still holds."""

import re
from collections.abc import Mapping
from pathlib import Path

import lxml.html
import pytest
import yaml

from democourse import NOW, copy_of_the_course, exchange
from equations.checker import Check
from equations.page import formula_spans
from equations.reading import names_in
from equations.test_checker import lesson_pages
from fallwork.commands.check import checked
from fallwork.commands.trials import analysed_trials
from fallwork.errors import BadInput
from fallwork.lesson.lab.symbols import fixed_marks
from fallwork.lesson.notation import check_notation
from fallwork.lesson.words import texts
from fallwork.scenario import load_course
from fallwork.scenario.notation import Notation
from fallwork.site.publication import publish
from lesson.kit import DEMO, lesson_of, scenario_of
from lesson.measured import kit

CASES = yaml.safe_load(Path(__file__).with_name("notation.yaml").read_text("utf-8"))
OTHER = CASES["other"]
# What stands for a quantity in the usual notation and for nothing in the other one. The number of
# trials gives its letter to the normal force and takes N.
USUAL = re.compile("Δ?[TK](_.*)?|N_.*|(ΔU|f)(_(?!g|s|k|max).*)?|[ukL]_[NKU].*|W_N.*|n_[^bg].*")
SLANTED = re.compile("[𝑇𝐾𝑁]|𝑓$|𝑈$")  # in figures, where subscripts stand by themselves


def course_in(folder: Path, notation: Mapping[str, str], labs: tuple[str, ...] = ()) -> Path:
    """A copy of the demo course whose author says hanger in titles too."""
    root = copy_of_the_course(folder, labs=labs or ("level-track",))
    for path in (*root.rglob("*.yaml"), *root.rglob("*.md")):
        path.write_text(path.read_text("utf-8").replace("hanging mass", "hanger"), "utf-8")
    said = yaml.safe_dump({"notation": dict(notation)}, sort_keys=False)
    exchange(root / "site-data/course.yaml", "\nrubric:", f"\n{said}rubric:")
    return root


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Labs of three kinds, everything open."""
    folder = tmp_path_factory.mktemp("notation") / "course"
    root = course_in(folder, OTHER, ("level-track", "heavy-pulley", "incline-held"))
    publish(root / "mkdocs.yml", now=NOW)
    return root / "site"


def test_no_letter_and_no_word_of_the_usual_notation_is_left(site: Path) -> None:
    found = set[str]()
    for page in sorted(site.glob("*/*/*.html")):
        html = page.read_text("utf-8")
        names = {name for span in formula_spans(html) for name in names_in(html[slice(*span)])}
        found |= names
        assert [name for name in names if USUAL.fullmatch(name)] == [], page
        tree = lxml.html.fromstring(html)
        drawn = ["".join(text.itertext()) for text in tree.xpath("//*[name()='text']")]
        assert [words for words in drawn if SLANTED.search(words)] == [], page
    assert {"F_T", "F_T,c", "n", "N", "f_k", "f_s", "KE_c", "ΔU_g,h", "W_T,c"} <= found
    for page in site.rglob("*.html"):
        words = lxml.html.fromstring(page.read_text("utf-8")).text_content()
        assert not re.search(r"hanging\s+mass|percent\s+error", words, re.IGNORECASE), page
        assert "{{" not in words


def test_its_equations_hold(site: Path) -> None:
    checks = [Check(*page) for page in lesson_pages(site)]
    assert [found for check in checks for found in check.findings] == []
    assert sum(check.compared for check in checks) > 1000


def test_usual_letters_are_those_of_the_table() -> None:
    """And all letters of any page stand in the table against which others are checked."""
    table = texts("symbols")
    rows = (*table["given"].values(), *table["quantities"].values())
    known = {row["letter"].split()[-1] for row in rows} | {*table["others"]}
    assert {"T", "N", "f", "K", "U"} <= known
    for name in ("level-track", "heavy-pulley", "incline-held", "push-away"):
        scenario = scenario_of(DEMO / f"{name}.yaml")
        lessons = [lesson_of(DEMO / f"{name}.yaml", numbers=True)]
        if name == "level-track":
            evidence = kit.judged(scenario, kit.trials_of(scenario, count=5))
            lessons += [kit.solution(scenario, evidence), kit.data(scenario, evidence)]
        symbols = {symbol.letter.split()[-1] for lesson in lessons for symbol in lesson.symbols}
        assert symbols <= known


@pytest.mark.parametrize(("key", "letter", "found"), CASES["refused"])
def test_a_letter_with_two_meanings_is_refused_at_its_place(
    key: str, letter: str, found: str, tmp_path: Path
) -> None:
    root = course_in(tmp_path / "course", {key: letter}) / "site-data"
    with pytest.raises(BadInput) as caught:
        check_notation(load_course(root).course)
    (problem,) = caught.value.problems
    text = (root / "course.yaml").read_text("utf-8").splitlines()
    assert problem.found == found
    assert text[problem.place.line - 1][problem.place.column - 1 :] == letter


@pytest.mark.parametrize("notation", [OTHER, *CASES["sound"]])
def test_what_departments_are_used_to_is_taken(notation: dict[str, str], tmp_path: Path) -> None:
    check_notation(load_course(course_in(tmp_path / "course", notation) / "site-data").course)


def test_the_command_of_trials_uses_its_words(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(course_in(tmp_path / "course", OTHER))
    (table,) = analysed_trials([], scenario="level-track", term="2026-autumn", json=False)
    assert "percent difference" in table
    assert not re.search("hanging mass|percent error", table)


def test_the_command_that_checks_uses_its_words(tmp_path: Path) -> None:
    root = course_in(tmp_path / "course", OTHER)
    exchange(root / "site-data/scenarios/level-track.yaml", "mass: 80.0 g", "mass: 8.0 kg")
    said = "\n".join(checked([root]))
    assert "hangers in a lab have between 0.5 g and 5 kg" in said
    assert "hanging mass" not in said


def test_objects_have_other_subscripts_than_the_notation() -> None:
    assert {"T", "n", "k", "g"} <= Notation(**OTHER).marks
    assert "h" not in fixed_marks()
