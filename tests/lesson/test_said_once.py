"""What a page says once, and what it says of friction and of static friction: the level track."""

from pathlib import Path

import pytest

from fallwork.lesson.document import Items, Lesson, Table
from lesson.kit import DEMO, ZOO, lesson_of
from lesson.measured import kit
from lesson.measured.kit import level, prose, step
from longtrain import long_train

FILES = sorted([*DEMO.glob("*.yaml"), *ZOO.glob("*.yaml")])


def worked() -> Lesson:
    return kit.worked_alone(level())


def test_a_reason_for_no_work_is_given_once_and_then_recalled() -> None:
    second = step(worked(), "all-moving-no-work")
    (items,) = [block for block in second.blocks if isinstance(block, Items)]
    told = [kit.words(item) for item in items.items]
    assert told[0] == (
        "The normal force of the track on the cart does no work, for the same reason as before."
    )
    assert told[1].startswith("The push of the pulley on the string transfers no energy")


def test_the_other_systems_are_few_and_telling() -> None:
    (table,) = [b for b in step(worked(), "other-systems").blocks if isinstance(b, Table)]
    assert 3 <= len(table.rows) <= 8


@pytest.mark.parametrize("path", FILES, ids=lambda path: f"{path.parent.name}-{path.stem}")
def test_a_table_of_systems_names_every_work_and_energy(path: Path) -> None:
    for found in lesson_of(path, numbers=False).steps:
        cells = [c for b in found.blocks if isinstance(b, Table) for row in b.rows for c in row]
        assert not [cell for cell in cells if "…" in kit.words(cell)]


def test_of_twenty_objects_the_other_systems_stay_readable(tmp_path: Path) -> None:
    file = tmp_path / "train.yaml"
    file.write_text(long_train(18), "utf-8")
    found = step(lesson_of(file, numbers=True), "other-systems")
    (table,) = [b for b in found.blocks if isinstance(b, Table)]
    members = ["".join(map(str, row[0])) for row in table.rows]
    assert 3 <= len(members) <= 8
    assert max(len(cell) for row in table.rows for cell in row) <= 24  # pieces of a cell
    assert "many further choices" in prose(found)


def test_where_friction_of_a_cart_first_does_work_the_track_is_said_to_do_none() -> None:
    """The point of contact of a rolling wheel is at rest; of a sliding block it isn't."""
    sentence = "A rolling wheel is at rest where it touches the track"
    lesson = worked()
    assert [s.id for s in lesson.steps if sentence in prose(s)] == ["cart-alone-work"]
    block = lesson_of(ZOO / "lone-block.yaml", numbers=True)
    assert not [s.id for s in block.steps if "rolling" in prose(s) or "wheel" in prose(s)]


def test_an_air_track_is_tested_by_standing_still_and_no_friction_is_spoken_of() -> None:
    lesson = lesson_of(DEMO / "level-track-frictionless.yaml", numbers=False)
    pulley = ("string", "acceleration", "all-moving-no-work", "objects")  # of its axle
    said = {
        s.id: prose(s) + "".join(kit.words(q.answer) for q in s.questions) for s in lesson.steps
    }
    told = [key for key, text in said.items() if "friction" in text and key not in pulley]
    assert told == ["bench"]  # “without friction”
    assert "stays where it is put only if the track is level" in said["bench"]
    assert "proves nothing" not in said["bench"]


def test_a_tilt_is_compared_with_what_drives_and_with_friction() -> None:
    """sin 0.1° = 0.001745; times 420 g over 80 g, and over 0.008, by hand."""
    lesson = lesson_of(DEMO / "level-track.yaml", numbers=True)
    said = [
        kit.words(i) for b in step(lesson, "bench").blocks if isinstance(b, Items) for i in b.items
    ]
    assert "like 0.9 % of what drives the motion, or 22 % of the friction" in "".join(said)


def test_what_enters_no_formula_but_the_result_s_uncertainty_is_given_too() -> None:
    """The slope is 0° ± 0.05°; place and length say where the cart meets the pulley."""
    without = {given.meaning: given.as_written for given in worked().givens if not given.symbol}
    assert without == {
        "angle between the track and the level": "0° ± 0.05°",
        "length of the track": "1.20 m",
        "place of the front end of the cart at the start, from the back of the track": "0.25 m",
    }
