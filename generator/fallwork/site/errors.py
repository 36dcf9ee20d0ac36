"""What stops the building of a site. Data first; ``str`` writes the sentence."""

from collections.abc import Mapping
from functools import cache
from importlib.resources import files

import yaml

from fallwork.errors import FallworkError


class PageError(FallworkError):
    """Something on a page that can't be published."""

    def __init__(self, *, page: str, found: str, expected: str) -> None:
        super().__init__(page, found, expected)
        self.page = page  # the Markdown file, e.g. "2026-autumn/level-track/prelab.md"
        self.found = found
        self.expected = expected

    def __str__(self) -> str:
        return f"{self.page}: {self.found}; {self.expected}"


class PublicationError(FallworkError):
    """A site that wasn't published; what stood there before still stands."""


def said(reason: str, **names: object) -> str:
    """The sentence of a refusal about these things."""
    return _sentences()[reason].format(**names)


@cache
def _sentences() -> Mapping[str, str]:
    text = files("fallwork.site").joinpath("refused.yaml").read_text("utf-8")
    found: Mapping[str, str] = yaml.load(text, Loader=yaml.BaseLoader)
    return found
