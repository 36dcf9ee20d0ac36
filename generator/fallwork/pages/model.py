"""A page or a drawing as it will stand in the site's source folder."""

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class PageFile:
    """A text file: Markdown with YAML front matter, an SVG drawing, or data to download."""

    path: str  # relative, with forward slashes, e.g. "2026-autumn/level-track/prelab.md"
    content: str
