"""A drawn figure."""

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Figure:
    """An SVG drawing with the text that stands for it."""

    id: str  # unique on its page, e.g. "diagram-cart"
    title: str  # a short name
    description: str  # the text alternative: says what the drawing shows
    caption: str  # stands below the drawing
    svg: str  # a complete <svg> element, no XML declaration
