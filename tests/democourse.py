"""A copy of the demo course, or of the tests' own, to build or to spoil; pages without drawings."""

import re
import shutil
from collections.abc import Callable, Mapping
from datetime import UTC, datetime
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
import yaml
from markdown import Markdown

from fallwork import figures
from fallwork.lesson import build
from fallwork.pages import worked
from fallwork.site import errors, markup, publication

PROJECT = Path(__file__).parents[1]
OWN = Path(__file__).parent / "pages/course"
NOW = datetime(2027, 3, 1, 12, tzinfo=UTC)
Pages = dict[str, str]  # path -> text
Run = Callable[..., tuple[int, str, str]]  # words of a call -> exit status, output, messages


def as_built(text: str) -> str:
    """A hand-written page in Markdown as the settings of the project make HTML of it."""
    settings = yaml.safe_load((PROJECT / "mkdocs.yml").read_text("utf-8"))["markdown_extensions"]
    named = [each if isinstance(each, dict) else {each: {}} for each in settings]
    configs = {name: config for each in named for name, config in each.items()}
    page = markup.CurrentPage()
    extensions = [*configs, markup.FallworkMarkup(page)]
    return page.filled(Markdown(extensions=extensions, extension_configs=configs).convert(text))


def copy_of_the_course(
    folder: Path, *, whole: bool = False, labs: tuple[str, ...] = ("level-track",)
) -> Path:
    """Settings, hand-written pages and data, without what may have been published; unless
    ``whole``, only this term's ``labs`` by the beginning of their ids, which is quick to build.
    """
    folder.mkdir(parents=True)
    shutil.copy(PROJECT / "mkdocs.yml", folder)
    for name in ("content", "site-data"):
        shutil.copytree(PROJECT / name, folder / name, ignore=shutil.ignore_patterns("published"))
    if not whole:
        _keep(labs, folder / "site-data")
    return folder


def _keep(labs: tuple[str, ...], data: Path) -> None:
    for path in sorted((data / "scenarios").glob("*.yaml")):
        if not path.stem.startswith((*labs, "level-track")):
            path.unlink()
    path = data / "terms/2026-autumn.yaml"
    for earlier in (data / "terms").iterdir():
        if earlier != path:
            earlier.unlink()
    head, *entries = re.split(r"(?m)^(?=  \S)", path.read_text("utf-8"))
    kept = [entry for entry in entries if entry.strip().startswith(labs)]
    path.write_text("".join((head, *kept)), "utf-8")


def own_course(folder: Path, *, data: bool = True, written: bool = True) -> Path:
    """The project's settings, with the tests' course and the hand-written pages or without."""
    folder.mkdir(parents=True, exist_ok=True)
    settings = (PROJECT / "mkdocs.yml").read_text("utf-8")
    if written:
        shutil.copytree(PROJECT / "content", folder / "content")
    else:
        (folder / "content").mkdir()
        settings = settings[: settings.index("nav:")] + settings[settings.index("validation:") :]
    (folder / "mkdocs.yml").write_text(settings, "utf-8")
    if data:
        shutil.copytree(OWN, folder / "site-data")
    else:
        (folder / "site-data").mkdir()
    return folder / "mkdocs.yml"


def exchange(path: Path, old: str, new: str) -> None:
    """Spoil a file: another text in the place of one that is there."""
    text = path.read_text("utf-8")
    assert old in text, f"{path} has no {old!r}"
    path.write_text(text.replace(old, new), "utf-8")


def bytes_below(root: Path) -> dict[str, bytes]:
    files = (path for path in sorted(root.rglob("*")) if path.is_file())
    return {path.relative_to(root).as_posix(): path.read_bytes() for path in files}


def refusal(settings: Path, **asked: Any) -> str:
    """What a publication says that is refused; nothing in its folder has changed."""
    before = bytes_below(settings.parent)
    with pytest.raises(errors.PublicationError) as caught:
        publication.publish(settings, **{"now": NOW, **asked})
    assert bytes_below(settings.parent) == before
    return str(caught.value)


# ---- pages without what takes nearly all of their time: drawings and uncertainties of results
def framed(scene: figures.Scene) -> figures.Figure:
    slot = scene.slot
    name = "-".join(filter(None, (slot.kind, slot.subject, str(slot.phase or ""))))
    words = f"An empty frame in the place of a drawing: {name}."
    return figures.Figure(id=name, title=name, description=words, caption=words, svg="<svg/>")


def nothing_known(*_: object, **__: object) -> Mapping[str, float]:
    return {}


def hang() -> None:
    """In this process; a test marked ``drawn`` has the drawings, one marked ``in_full`` both."""
    worked.draw = framed
    build.uncertainties = nothing_known


def long_train(carts: int) -> str:
    """The scenario file of a train with this many carts: 2 objects more, and a string a cart."""
    names = [f"cart-{at}" for at in range(1, carts + 1)]
    strings = [f"coupling-{at}" for at in range(1, carts)]
    lines = ["title: A long train", "objects:"]
    for at, name in enumerate(names):
        where = f"starts_at: {0.2 + 0.15 * at:.2f} m"
        lines.append(f"  {name}: {{kind: cart, mass: {300 + 10 * at} g, runs_on: track, {where}}}")
    lines += ["  weight: {kind: hanging, mass: 800 g}", "  pulley: {kind: pulley}"]
    lines += ["surfaces:", "  track: {slope: 0 deg, friction: 0.01, length: 6 m}", "strings:"]
    for string, ends in zip(strings, pairwise(names), strict=True):
        lines.append(f"  {string}: [{', '.join(ends)}]")
    lines += [f"  string: [{names[-1]}, pulley, weight]"]
    lines += ["run: {start: rest, object: weight, distance: 0.6 m}", "systems:"]
    members = ", ".join([*names, *strings, "string", "weight", "Earth"])
    lines.append(f"  moving: {{title: Everything that moves, members: [{members}]}}")
    return "\n".join([*lines, ""])
