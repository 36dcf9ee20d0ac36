"""Scenario files: what they become, and what may change in them without changing the model."""

import math
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

from fallwork.scenario import (
    Hanging,
    Pulley,
    Quantity,
    Scenario,
    Slider,
    SystemChoice,
    load_scenario,
    with_numbers,
)

HERE = Path(__file__).parent
SOUND = sorted((HERE / "sound" / "scenarios").glob("*.yaml"))
SAMPLE = Path(__file__).parents[2] / "site-data" / "scenarios" / "level-track.yaml"


def sound(name: str) -> Scenario:
    return load_scenario(HERE / "sound" / "scenarios" / f"{name}.yaml")


def test_the_sample_gives_its_cart() -> None:
    assert load_scenario(SAMPLE).objects["cart"] == Slider(
        name="cart",
        kind="cart",
        mass=Quantity(
            kind="mass", value=0.42, u=0.0001, number="420.0", unit="g", uncertainty="0.1 g"
        ),
        runs_on="track",
        starts_at=Quantity(kind="length", value=0.25, number="0.25", unit="m"),
    )


def test_the_sample_gives_its_other_parts() -> None:
    sample = load_scenario(SAMPLE)
    assert (sample.id, list(sample.objects)) == ("level-track", ["cart", "weight", "pulley"])
    assert sample.surfaces["track"].friction.u == 0.002
    assert sample.strings["string"].path == ("cart", "pulley", "weight")
    assert sample.run.object == "weight"
    assert sample.run.speed is None
    assert sample.systems[0] == SystemChoice(
        id="cart-alone", title="The cart alone", members=("cart",)
    )


GIVEN = {  # set-up -> values in SI
    "heavy-pulley": {
        "objects.pulley.inertia": 1.8e-5,
        "objects.pulley.radius": 0.025,
        "objects.pulley.bearing_torque": 0.0002,
        "objects.cart.wheels.mass": 0.006,
    },
    "incline": {"objects.block.static_friction": 0.3},
    "push": {"run.speed": -0.6, "run.until": 3.0},
}


@pytest.mark.parametrize("name", GIVEN)
def test_what_a_set_up_may_have_is_read(name: str) -> None:
    for path, value in GIVEN[name].items():
        found: Any = sound(name)
        for part in path.split("."):
            found = found[part] if isinstance(found, dict) else getattr(found, part)
        assert found.value == value, path
    assert sound("heavy-pulley").objects["cart"].wheels.count == 4  # type: ignore[union-attr]
    assert sound("push").run.speed.u == 0.02  # type: ignore[union-attr]


@pytest.mark.parametrize("slope", ["90 deg", "-90 deg ± 0.5 deg"])
def test_a_surface_may_stand_upright(slope: str) -> None:
    upright = with_numbers(sound("incline"), {"ramp.slope": slope})
    assert abs(upright.surfaces["ramp"].slope.value) == math.pi / 2


def test_a_weight_may_hang_from_a_moving_pulley() -> None:
    objects = sound("moving-pulley").objects
    assert isinstance(objects["moving"], Pulley)
    assert objects["moving"].moving
    assert isinstance(objects["weight"], Hanging)
    assert objects["weight"].hangs_from == "moving"


@pytest.mark.parametrize("path", SOUND, ids=lambda path: path.stem)
def test_every_kind_of_set_up_is_accepted(path: Path) -> None:
    assert load_scenario(path).id == path.stem


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


Data = dict[str, Any]


def written(data: Data, folder: Path, name: str) -> Scenario:
    path = folder / f"{name}.yaml"
    path.write_text(yaml.safe_dump(data, sort_keys=False, allow_unicode=True), "utf-8")
    return load_scenario(path)


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
    other = written(shuffled(AS_TEXT[name], order), tmp_path, name)
    assert unordered(other) == unordered(sound(name))


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
