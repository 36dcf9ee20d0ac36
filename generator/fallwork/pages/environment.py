"""Templates filled in, front matter put on top.

Takes a template's name and its values; gives Markdown. Every value that isn't finished Markdown
(``Markup``) is written as plain text, so a template can't forget to make it safe.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import yaml
from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from fallwork.pages.escape import plain

_TEMPLATES = Path(__file__).parent / "templates"


@dataclass(frozen=True, kw_only=True)
class PageFile:
    """A text file: Markdown with YAML front matter, an SVG drawing, or data to download."""

    path: str  # relative, with forward slashes, e.g. "2026-autumn/level-track/prelab.md"
    content: str


def filled(
    path: str, template: str, meta: Mapping[str, Any], values: Mapping[str, Any]
) -> PageFile:
    """A page from ``templates/<template>.md.j2`` with ``meta`` as its front matter."""
    front = yaml.safe_dump(dict(meta), allow_unicode=True, sort_keys=False, width=1000)
    body = _environment().get_template(f"{template}.md.j2").render(values)
    return PageFile(path=path, content=f"---\n{front}---\n\n{tidy(body)}")


def tidy(markdown: str) -> str:
    """One blank line at most in a row, none at either end, no blanks at the ends of lines."""
    lines = (line.rstrip() for line in markdown.split("\n"))
    return re.sub(r"\n{3,}", "\n\n", "\n".join(lines)).strip("\n") + "\n"


def _finished(value: object) -> Markup:
    if isinstance(value, Markup):
        return value
    if isinstance(value, str | int):
        return plain(str(value))
    raise TypeError(f"a template prints {value!r}, which is neither text nor Markdown")


def _address(name: str) -> Markup:
    """A path or an id as it stands in a link or heading; those come from the program and from
    checked keys.
    """
    if not re.fullmatch(r"(\.\./)*([A-Za-z0-9][A-Za-z0-9_.-]*/)*[A-Za-z0-9][A-Za-z0-9_.-]*", name):
        raise ValueError(f"{name!r} can't be an address")
    return Markup(name)


def _anchor(name: str, mark: str = "") -> Markup:
    """The lasting address of a heading; with ``.fw-step`` it gets a control that copies it."""
    return Markup(f"{{#{_address(name)}{mark}}}")


@cache
def _environment() -> Environment:
    environment = Environment(
        loader=FileSystemLoader(_TEMPLATES),
        autoescape=True,
        finalize=_finished,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    environment.filters.update(anchor=_anchor, address=_address)
    return environment
