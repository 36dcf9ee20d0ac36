"""Scenario files: what may change in them without changing the model."""

import random
import re
import subprocess
import sys
from collections.abc import Mapping
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fallwork.scenario import Scenario, load_scenario, with_numbers
from scenario import kit
from scenario.kit import sound

SOUND = sorted((kit.SOUND / "scenarios").glob("*.yaml"))
SAMPLE = kit.DEMO / "scenarios" / "level-track.yaml"


def test_scalars_are_text_whatever_yaml_makes_of_them(tmp_path: Path) -> None:
    text = SAMPLE.read_text("utf-8").replace("cart:", "on:").replace("[cart", "[on")
    path = tmp_path / "off.yaml"
    path.write_text(text.replace("title: The cart alone", "title: no"), "utf-8")
    scenario = load_scenario(path)
    assert (scenario.strings["string"].path[0], scenario.systems[0].title) == ("on", "no")


@pytest.mark.parametrize(
    "same",
    [
        lambda text: text.replace("\n", "\r\n"),
        lambda text: "\ufeff" + text,
        lambda text: text.replace("80.0 g ± 0.1 g", '"80.0 g ± 0.1 g"'),
        lambda text: text.replace("80.0 g ± 0.1 g", "80.0 g\n      ± 0.1 g"),
        lambda text: "---\n" + text + "...\n",
    ],
    ids=["other line ends", "byte order mark", "quotes", "two lines", "document marks"],
)
def test_the_way_of_writing_changes_nothing(tmp_path: Path, same: Any) -> None:
    path = tmp_path / SAMPLE.name
    path.write_bytes(same(SAMPLE.read_text("utf-8")).encode("utf-8"))
    assert load_scenario(path) == load_scenario(SAMPLE)


def shuffled(data: Any, order: random.Random) -> Any:
    """The same data with the keys of every mapping in another order."""
    if isinstance(data, dict):
        keys = list(data)
        order.shuffle(keys)
        return {key: shuffled(data[key], order) for key in keys}
    return data


def unordered(scenario: Scenario) -> Scenario:
    return replace(scenario, systems=tuple(sorted(scenario.systems, key=lambda s: s.id)))


AS_TEXT = {path.stem: yaml.load(path.read_text("utf-8"), yaml.BaseLoader) for path in SOUND}
in_one_folder = partial(settings, suppress_health_check=[HealthCheck.function_scoped_fixture])


@in_one_folder(max_examples=settings.default.max_examples // 2, deadline=None)
@given(name=st.sampled_from(sorted(AS_TEXT)), order=st.randoms(use_true_random=False))
def test_the_order_of_keys_changes_nothing(tmp_path: Path, name: str, order: random.Random) -> None:
    path = tmp_path / f"{name}.yaml"
    data = shuffled(AS_TEXT[name], order)
    path.write_text(yaml.safe_dump(data, sort_keys=False, allow_unicode=True), "utf-8")
    assert unordered(load_scenario(path)) == unordered(sound(name))


NAMES = st.from_regex(r"zz[a-z0-9]{0,8}(-[a-z0-9]{1,4})?", fullmatch=True)


def with_names(text: str, names: Mapping[str, str]) -> str:
    """The text with other names; the words of a kind stay."""
    words = "|".join(sorted(names, key=len, reverse=True))
    pattern = rf"(?<!kind: )(?<!moving )(?<![\w-])(?:{words})(?![\w-])"
    return re.sub(pattern, lambda match: names[match[0]], text)


@in_one_folder(max_examples=settings.default.max_examples // 2, deadline=None)
@given(path=st.sampled_from(SOUND), data=st.data())
def test_renaming_gives_the_same_model_with_other_names(
    tmp_path: Path, path: Path, data: st.DataObject
) -> None:
    scenario = load_scenario(path)
    old = [*scenario.objects, *scenario.surfaces, *scenario.strings]
    new = data.draw(st.lists(NAMES, min_size=len(old), max_size=len(old), unique=True))
    other = tmp_path / path.name
    text = with_names(path.read_text("utf-8"), dict(zip(old, new, strict=True)))
    other.write_text(text, "utf-8")
    back = with_names(repr(load_scenario(other)), dict(zip(new, old, strict=True)))
    assert back == repr(scenario)


def test_reading_needs_no_heavy_library() -> None:
    heavy = ("numpy", "scipy", "matplotlib", "mkdocs", "pydantic", "jinja2")
    code = f"import sys, fallwork.scenario; print([m for m in {heavy} if m in sys.modules])"
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert ran.stdout.strip() == "[]"


def test_names_and_numbers_keep_their_places() -> None:
    sample = load_scenario(SAMPLE)
    changed = with_numbers(sample, {"cart.mass": "507.3 g"})
    lines = SAMPLE.read_text("utf-8").splitlines()
    for name in (*sample.objects, *sample.surfaces, *sample.strings):
        place = sample.places[name]
        assert lines[place.line - 1][place.column - 1 :].startswith(f"{name}:")
    assert str(changed.places["cart.mass"]) == "--set cart.mass=507.3 g:1:11"
    assert changed.places["cart"] == sample.places["cart"]
