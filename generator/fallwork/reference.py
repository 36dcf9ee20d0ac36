"""The reference of the guide: every key of every file, every command, every message that refuses.

Takes the layouts from which files are read, the commands as they are parsed and the tables of
messages; gives Markdown by the templates in ``guide/``. Run as a module it writes the pages there.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from string import Formatter
from typing import Any

import click
from jinja2 import Environment, FileSystemLoader, StrictUndefined

from fallwork.cli import main
from fallwork.errors import table
from fallwork.pages.build import GUIDE
from fallwork.scenario.schema import FILES
from fallwork.scenario.shapes import Layout

_WHERE = {
    "scenario": "scenarios/NAME",
    "term": "terms/NAME",
    "course": "course",
    "inventory": "inventory",
}


@dataclass(frozen=True, kw_only=True)
class Section:
    """The keys that stand at one place of a file."""

    path: str  # of the mapping that has them; "" for the file itself
    kind: str  # what its key ``kind`` says, if it has one
    keys: Mapping[str, Layout]
    required: tuple[str, ...]


def sections(layout: Layout, path: str = "", kind: str = "") -> Iterator[Section]:
    """Every mapping with fixed keys in a layout, from outside in."""
    if keys := layout.get("properties", {}) if "allOf" not in layout else {}:
        required = tuple(layout.get("required", ()))
        yield Section(path=path, kind=kind, keys=keys, required=required)
    for key, below in keys.items():
        yield from sections(below, f"{path}.{key}".lstrip("."))
    for way in layout.get("allOf", ()):
        yield from sections(way["then"], path, way["if"]["properties"]["kind"]["const"])
    for way in layout.get("anyOf", ()):
        yield from sections(way, path)
    if "items" in layout:
        yield from sections(layout["items"], path)
    if isinstance(names := layout.get("additionalProperties"), dict):
        yield from sections(names, f"{path}.NAME")


def usage(name: str, command: click.Command) -> str:
    """How a command is called: ``fallwork key [OPTIONS] SCENARIO``."""
    context = click.Context(command, info_name=f"fallwork {name}")
    return " ".join([context.info_name or "", *command.collect_usage_pieces(context)])


def messages() -> Iterator[tuple[str, list[tuple[str, ...]]]]:
    """By the stage that refuses: what was found, and what would be right."""
    for kind, rows in table("scenario", "refusals").items():
        yield kind, [(_plain(row["found"]), _plain(row["expected"])) for row in rows.values()]
    for stage in ("planning", "site", "commands"):
        lines = (each for each in table(stage, "refused").values() if "\n" not in each)
        told = (line.partition("; ") for line in lines)
        yield stage, [(_plain(found), _plain(right)) for found, _, right in told if right]


def _plain(text: str) -> str:
    """A message as Markdown in a table; what is put into it leans."""
    clean = " ".join(text.replace("|", "\\|").replace("<", "&lt;").replace("*", "\\*").split())
    parts = [said + (f"*{name}*" if name else "") for said, name, *_ in Formatter().parse(clean)]
    return "".join(parts).replace("**", "* *")


def pages() -> dict[str, str]:
    """The reference pages by name."""
    settings: dict[str, Any] = {"trim_blocks": True, "lstrip_blocks": True}
    loader = FileSystemLoader(GUIDE)
    templates = Environment(loader=loader, undefined=StrictUndefined, **settings)
    files = {f"{_WHERE[name]}.yaml": [*sections(r.schema())] for name, r in FILES.items()}
    given: dict[str, Any] = {
        "files": {"files": files},
        "commands": {"commands": main.commands, "usage": usage},
        "messages": {"messages": dict(messages())},
    }
    return {name: templates.get_template(f"{name}.j2").render(told) for name, told in given.items()}


if __name__ == "__main__":
    for page, text in pages().items():
        (GUIDE / f"{page}.md").write_text(text, encoding="utf-8", newline="\n")
