"""Writes a drawing as an ``<svg>`` fit to stand in a page: colours as the page's variables, a title
and a description that stand for it, and words as text that fits whatever face the reader has.
"""

from collections.abc import Iterator
from html import escape

from fallwork.figures.drawing import WIDTH, Drawing, Lettering, Shape
from fallwork.figures.lettering import WORD_SIZE
from fallwork.figures.palette import palette
from fallwork.figures.placing import Point

MARGIN = 3.0  # pt, above and below
PIXELS_PER_POINT = 1.55  # widest display: words then stand about 15 px high
WORDS = "var(--md-text-font-family, system-ui, Helvetica, Arial, sans-serif)"
FORMULAS = "'STIX Two Math', 'Cambria Math', math, serif"


def svg_of(drawing: Drawing, figure_id: str, title: str, description: str) -> str:
    """The drawing as one element whose ids all begin with ``figure_id``."""
    low, high = drawing.extent()
    top, height = high + MARGIN, high - low + 2 * MARGIN
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH:g} {_places(height)}" '
        f'role="img" id="{figure_id}" aria-labelledby="{figure_id}-title {figure_id}-desc" '
        f'style="width: 100%; max-width: {WIDTH * PIXELS_PER_POINT:.0f}px; height: auto; '
        'fill: none; stroke-linejoin: round">',
        f'<title id="{figure_id}-title">{escape(title, quote=False)}</title>',
        f'<desc id="{figure_id}-desc">{escape(description, quote=False)}</desc>',
        *(_path(shape, top) for shape in drawing.shapes),
        f'<g data-search-exclude="" style="font: {WORD_SIZE}px {WORDS}; white-space: pre">',
        *(text for lettering in drawing.letterings for text in _texts(lettering, top)),
        "</g>",
        "</svg>",
    ]
    return "\n".join(lines)


def _path(shape: Shape, top: float) -> str:
    """All lines of a shape; ends are round where nothing else shapes them."""
    styles = [f"fill: {_colour(shape.fill)}"] if shape.fill else []
    if shape.edge:
        styles += [f"stroke: {_colour(shape.edge)}", f"stroke-width: {shape.width:g}"]
        if shape.dash:
            styles.append(f"stroke-dasharray: {' '.join(f'{part:g}' for part in shape.dash)}")
        elif not shape.closed and shape.width < 2.5:
            styles.append("stroke-linecap: round")
    end = "z" if shape.closed else ""
    data = "".join(f"M{'L'.join(_pair(point, top) for point in line)}{end}" for line in shape.lines)
    return f'<path d="{data}" style="{"; ".join(styles)}"/>'


def _texts(lettering: Lettering, top: float) -> Iterator[str]:
    """Words are stretched to the width that was reckoned with; a formula has its own font."""
    left, bottom, *_ = lettering.box.edges
    for part in lettering.label.parts:
        places = [
            f'x="{_places(left + piece.x)}" y="{_places(top - bottom - piece.y)}"' for piece in part
        ]
        colour = f"fill: {_colour(lettering.role)}"
        if not part[0].formula:
            width = f'textLength="{_places(part[0].width)}" lengthAdjust="spacingAndGlyphs"'
            text = escape(part[0].text, quote=False)
            yield f'<text {places[0]} {width} style="{colour}">{text}</text>'
            continue
        pieces = (
            f'<tspan {at} font-size="{_places(piece.size)}">{piece.text}</tspan>'
            for at, piece in zip(places, part, strict=True)
        )
        yield f'<text style="{colour}; font-family: {FORMULAS}">{"".join(pieces)}</text>'


def _colour(role: str) -> str:
    return palette()[role].css


def _pair(point: Point, top: float) -> str:
    return f"{_places(point[0])} {_places(top - point[1])}"


def _places(number: float) -> str:
    """To a hundredth of a point."""
    text = f"{number:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
