"""Writes a drawing as an ``<svg>`` fit to stand in a page: colours as the page's variables, a title
and a description that stand for it, and words as text that fits whatever face the reader has.
"""

from collections.abc import Iterator
from html import escape

from fallwork.figures.drawing import WIDTH, Drawing, Shape
from fallwork.figures.lettering import WORD_SIZE
from fallwork.figures.palette import palette
from fallwork.figures.placing import Box, Wish

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
        *(text for wish, box in drawing.labelled for text in _texts(wish, box, top)),
        "</g>",
        "</svg>",
    ]
    return "\n".join(lines)


def _path(shape: Shape, top: float) -> str:
    """All lines of a shape; ends are round where nothing else shapes them."""
    styles = [f"fill: {palette()[shape.fill].css}"] if shape.fill else []
    if shape.edge:
        styles += [f"stroke: {palette()[shape.edge].css}", f"stroke-width: {shape.width:g}"]
    if shape.dash:
        styles.append(f"stroke-dasharray: {' '.join(f'{part:g}' for part in shape.dash)}")
    elif not shape.closed and shape.width < 2.5:
        styles.append("stroke-linecap: round")
    pairs = [[f"{_places(x)} {_places(top - y)}" for x, y in line] for line in shape.lines]
    end = "z" if shape.closed else ""
    data = "".join(f"M{'L'.join(line)}{end}" for line in pairs)
    return f'<path d="{data}" style="{"; ".join(styles)}"/>'


def _texts(wish: Wish, box: Box, top: float) -> Iterator[str]:
    """Words are stretched to the width that was reckoned with; a formula has its own font."""
    colour = f"fill: {palette()[wish.role].css}"
    for part in wish.label.parts:
        shown = []
        for piece in part:
            x, y = _places(box.left + piece.x), _places(top - box.bottom - piece.y)
            fit = f'textLength="{_places(piece.width)}" lengthAdjust="spacingAndGlyphs"'
            size = f'font-size="{_places(piece.size)}"' if piece.formula else fit
            shown.append((f'x="{x}" y="{y}" {size}', escape(piece.text, quote=False)))
        if part[0].formula:
            pieces = "".join(f"<tspan {look}>{text}</tspan>" for look, text in shown)
            yield f'<text style="{colour}; font-family: {FORMULAS}">{pieces}</text>'
        else:
            yield from (f'<text {look} style="{colour}">{text}</text>' for look, text in shown)


def _places(number: float) -> str:
    """To a hundredth of a point."""
    text = f"{number:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
