"""A sheet to draw on in points: takes shapes and words by role, gives matplotlib's SVG.

Origin at the lower left, x to the right, y up, everything in points (1/72 inch). The only module
besides ``charts`` that knows matplotlib; what a drawing means is left to the others.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from importlib.resources import as_file, files
from io import StringIO
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from matplotlib.figure import Figure as Sheet

Point = tuple[float, float]

WIDTH = 259.2  # pt; 3.6 inches: words stay near 11 px on a screen of 320 px
WORD_SIZE = 9.8  # pt
SYMBOL_SIZE = 12.0  # pt; the formula font is smaller at the same size


@contextmanager
def house_style(figure_id: str) -> Iterator[None]:
    """The figures' own look, whatever the user has set; names inside depend on the id alone."""
    from matplotlib import rcParams, style

    sheet = files(__package__).joinpath("fallwork.mplstyle")
    with as_file(sheet) as path, style.context(path, after_reset=True):
        rcParams["svg.hashsalt"] = figure_id
        yield


@dataclass(frozen=True, kw_only=True)
class Box:
    """An upright rectangle in points."""

    left: float
    bottom: float
    right: float
    top: float

    def meets(self, other: "Box", gap: float = 0.0) -> bool:
        """Whether the two share more than an edge, or come nearer than ``gap``."""
        return (
            self.left < other.right + gap
            and other.left < self.right + gap
            and self.bottom < other.top + gap
            and other.bottom < self.top + gap
        )

    def moved(self, dx: float, dy: float) -> "Box":
        """The same rectangle elsewhere."""
        return Box(
            left=self.left + dx,
            bottom=self.bottom + dy,
            right=self.right + dx,
            top=self.top + dy,
        )


def new_sheet(height: float, width: float = WIDTH) -> "Sheet":
    """An empty sheet with a canvas that writes SVG and nothing else."""
    from matplotlib.backends.backend_svg import FigureCanvasSVG
    from matplotlib.figure import Figure as Sheet

    sheet = Sheet(figsize=(width / 72, height / 72))
    FigureCanvasSVG(sheet)
    sheet.patch.set_visible(False)
    return sheet


def written(sheet: "Sheet") -> str:
    """The sheet as matplotlib's SVG, without a date."""
    target = StringIO()
    sheet.savefig(target, format="svg", metadata={"Date": None})
    return target.getvalue()


@cache
def measure(text: str, size: float) -> tuple[float, float, float]:
    """Width, height above and depth below the base line of a text, in points.

    Call it inside ``house_style``, which sets the fonts.
    """
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import text_to_path

    width, height, depth = text_to_path.get_text_width_height_descent(
        text, FontProperties(size=size), ismath="$" in text
    )
    return float(width), float(height - depth), float(depth)
