"""Every figure can be read, says what it shows with the numbers of the solution, and is an inline
SVG that keeps to itself, whatever the set-up and whatever surrounds the program.
"""

import os
import re
import subprocess
import sys
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
import yaml

from democourse import PROJECT
from fallwork.figures import Figure, palette
from fallwork.figures.drawing import WIDTH, Drawing
from fallwork.figures.lettering import WORD_SIZE
from fallwork.figures.placing import Spot
from fallwork.lesson.document import FigureSlot
from figures.inspect_sheet import collisions, crossed_words, sheet_of, words_of
from figures.setups import NAMES, Setup, drawn, entries, setup
from lesson.kit import DEMO, ZOO, everything, lesson_of, solved

CASES = (*NAMES, "trials")
SVG = "{http://www.w3.org/2000/svg}"
BYTES = 25_000  # the most that a figure may weigh, one with hundreds of readings included
TAGS = {"svg", "title", "desc", "g", "path", "text", "tspan"}
ROWS = yaml.safe_load(Path(__file__).with_name("said.yaml").read_text("utf-8"))
DRAW = """
import hashlib
from figures.setups import sample
kinds = [("sketch", ""), ("diagram", "cart"), ("motion", ""), ("energy-bars", "all-moving")]
print(hashlib.sha256("".join(sample(*kind).svg for kind in kinds).encode()).hexdigest())
"""
SHARE = 10  # of the lessons' set-ups one in so many, and the one whose block stays


def slots(given: Setup) -> set[FigureSlot]:
    """What a lesson asks for."""
    return {part for part in everything(given.lesson.steps) if isinstance(part, FigureSlot)}


@pytest.mark.parametrize("case", CASES)
def test_a_figure_can_be_read_and_is_an_svg_that_keeps_to_itself(case: str) -> None:
    for entry in entries(case):
        figure = drawn(*entry)
        root = ElementTree.fromstring(figure.svg)
        assert_readable(root, entry)
        assert_named_apart(figure, root)
        assert_coloured_by_role(figure.svg)
        assert root.tag == f"{SVG}svg", entry
        assert root.get("width") is root.get("height") is None, entry
        assert root.get("viewBox", "").startswith("0 0 259.2 "), entry
        assert {element.tag.removeprefix(SVG) for element in root.iter()} <= TAGS, entry
        assert len(figure.svg.encode()) < BYTES, entry
        assert not re.search(r"\n\n|20\d\d-\d\d|<\?xml|<!", figure.svg), entry


@pytest.mark.parametrize("path", sorted(DEMO.glob("*.yaml")), ids=lambda path: path.stem)
def test_every_figure_of_the_demo_course_can_be_read(path: Path) -> None:
    given = setup(f"demo/{path.stem}")
    for slot in slots(given):
        assert_readable(sheet_of(given.scene(slot)), slot)


def assert_readable(sheet: ElementTree.Element, about: object) -> None:
    """No word lies on another, on a line, or off the sheet."""
    outside = [words for words, box in words_of(sheet) if box.left < 0 or box.right > WIDTH]
    assert (about, collisions(sheet), crossed_words(sheet), outside) == (about, [], [], [])


def test_words_are_at_least_11_pixels_high_on_a_phone() -> None:
    # A page 320 px wide leaves about 290 px (common practice: margins of 15 px).
    assert 11.0 <= WORD_SIZE * 290 / WIDTH < 12.0


def assert_named_apart(figure: Figure, root: ElementTree.Element) -> None:
    """Ids are unique and begin with the figure's; what is referred to is inside; words stand."""
    ids = [element.get("id", "") for element in root.iter() if element.get("id")]
    assert len(set(ids)) == len(ids)
    assert all(name == figure.id or name.startswith(f"{figure.id}-") for name in ids)
    assert not re.search(r"href=|url\(", figure.svg)
    assert root.get("role") == "img"
    assert root.get("aria-labelledby") == f"{figure.id}-title {figure.id}-desc"
    assert (root[0].tag, root[0].text) == (f"{SVG}title", figure.title)
    assert (root[1].tag, root[1].text) == (f"{SVG}desc", figure.description)


def assert_coloured_by_role(svg: str) -> None:
    assert set(re.findall(r"var\(--fw[^)]*\)", svg)) <= {role.css for role in palette().values()}
    rest = re.sub(r'id="[^"]*"|var\([^)]*\)', "", svg)
    assert not re.search(r'#[0-9a-fA-F]{3,8}\b(?!-)|rgb|hsl|(fill|stroke)="', rest)


def test_every_figure_that_a_lesson_asks_for_is_drawn(thorough: bool) -> None:
    files = sorted(ZOO.glob("*.yaml"))
    for path in files if thorough else (*files[::SHARE], ZOO / "compound-stuck.yaml"):
        given = Setup(*solved(path), lesson_of(path, numbers=True))
        assert all(given.draw(slot).svg.startswith("<svg") for slot in slots(given)), path


def test_a_name_with_signs_of_markup_stays_as_it_is() -> None:
    drawing = Drawing()
    drawing.label("R&D <cart>", "台車", at=[Spot(9 + 9j, 0.0, 0.0)])
    sheet = ElementTree.fromstring(drawing.svg("x", "R&D", "<cart>"))
    assert [words for words, _ in words_of(sheet)] == ["台車", "R&D <cart>"]
    assert (sheet[0].text, sheet[1].text) == ("R&D", "<cart>")
    lengths = [float(text.get("textLength", "")) for text in sheet.iter(f"{SVG}text")]
    assert lengths[0] == pytest.approx(2 * WORD_SIZE)  # letters of full width


def test_hash_seed_time_zone_and_locale_change_no_byte() -> None:
    path = os.pathsep.join(str(PROJECT / folder) for folder in ("tests", "generator"))
    found = set()
    for seed, zone, locale in (("0", "UTC", "C"), ("4711", "Pacific/Auckland", "C.UTF-8")):
        given = {"PYTHONPATH": path, "PYTHONHASHSEED": seed, "TZ": zone, "LC_ALL": locale}
        call = [sys.executable, "-c", DRAW]
        found.add(subprocess.check_output(call, env={**os.environ, **given}))
    assert len(found) == 1


# ---- words


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['case']}-{row['kind']}")
def test_a_figure_says_what_it_shows(row: dict[str, Any]) -> None:
    scene = setup(row["case"]).scene(
        row["kind"], row.get("subject", ""), to_scale=not row.get("held-back")
    )
    figure = setup(row["case"]).draw(scene.slot, to_scale=scene.to_scale)
    assert figure.description == row.get("is", figure.description)
    assert figure.caption == row.get("caption-is", figure.caption)
    assert [part for part in row.get("has", ()) if part not in figure.description] == []
    assert [part for part in row.get("caption-has", ()) if part not in figure.caption] == []
    assert [part for part in row.get("lacks", ()) if part in figure.description] == []
    on_it = {words for words, _ in words_of(sheet_of(scene))}
    assert set(row.get("sheet", ())) <= on_it


def test_numbers_in_descriptions_are_rounded_to_the_course_s_figures() -> None:
    figure = setup("incline").draw("tension-work", figures=5)
    tension = setup("incline").solution.phases[0].tensions["string"]["block"]
    assert re.findall(r"constant at ([\d.]+) N", figure.description) == [f"{tension:.5g}"]


@pytest.mark.parametrize("case", NAMES)
def test_every_object_string_and_surface_has_its_name(case: str) -> None:
    scenario = setup(case).scenario
    written = {words for words, _ in words_of(sheet_of(setup(case).scene("sketch")))}
    for name in (*scenario.objects, *scenario.strings, *scenario.surfaces):
        assert set(scenario.nouns.noun(name).split()) <= {
            part for words in written for part in words.split()
        }


# ---- the checks find what is planted


def planted(*places: tuple[float, float], line: str = "") -> ElementTree.Element:
    """A sheet with the same word at some places, and perhaps a line."""
    words = "".join(f'<text x="{x}" y="{y}" textLength="18.4">cart</text>' for x, y in places)
    return ElementTree.fromstring(f'<svg xmlns="{SVG[1:-1]}"><path d="{line}"/>{words}</svg>')


def test_words_on_words_and_lines_through_words_are_found() -> None:
    assert collisions(planted((20, 20), (30, 22))) == [("cart", "cart")]
    assert collisions(planted((20, 20), (60, 20))) == []
    assert crossed_words(planted((20, 20), line="M0 15L259 15")) == ["cart"]
    assert crossed_words(planted((20, 20), line="M0 30L259 30M0 0L10 30")) == []
