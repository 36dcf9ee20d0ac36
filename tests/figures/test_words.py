"""Figures say what they show, with the numbers of the solution."""

import re
from pathlib import Path
from typing import Any

import pytest
import yaml

from figures.inspect_sheet import sheet_of, words_of
from figures.setups import NAMES, setup

ROWS = yaml.safe_load(Path(__file__).with_name("said.yaml").read_text("utf-8"))


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
