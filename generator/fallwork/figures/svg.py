"""Makes a drawing fit to stand in a page: takes matplotlib's SVG, gives an inline ``<svg>``.

Colours become the page's variables, ids carry the figure's own id, sizes bend to the page, and a
title and a description stand for the drawing. What is drawn is left to the other modules.
"""

import re
from collections.abc import Iterator, Mapping
from xml.etree import ElementTree

from fallwork.figures.palette import palette

PIXELS_PER_POINT = 1.55  # widest display: words then stand about 15 px high

GLYPH_STEP = 8  # of 64ths; 1/80 pt in the words of a figure

_SVG = "{http://www.w3.org/2000/svg}"
_HREF = "{http://www.w3.org/1999/xlink}href"
_COLOUR = re.compile(r"#[0-9a-fA-F]{6}\b")
_REFERENCE = re.compile(r"url\(#([^)]+)\)")
_NUMBER = re.compile(r"-?\d+\.\d+(?:e-?\d+)?")
_SHIFT = re.compile(r"translate\((-?[\d.]+) 0\)")
# Matplotlib sets these for every element of the page (`*`); here they hold for the figure only.
_INHERITED = "stroke-linejoin: round; stroke-linecap: butt"


class ForeignColourError(Exception):
    """A drawing used a colour without a role: a fault of the program."""


def inline_svg(raw: str, *, figure_id: str, title: str, description: str) -> str:
    """The drawing as one ``<svg>`` element whose ids all begin with ``figure_id``."""
    source = ElementTree.fromstring(raw)
    _, _, width, height = (float(number) for number in source.attrib["viewBox"].split())
    root = ElementTree.Element("svg")
    root.attrib = {
        "xmlns": "http://www.w3.org/2000/svg",
        "viewBox": f"0 0 {width:g} {height:g}",
        "role": "img",
        "id": figure_id,
        "aria-labelledby": f"{figure_id}-title {figure_id}-desc",
        "style": f"width: 100%; max-width: {width * PIXELS_PER_POINT:.0f}px; height: auto; "
        + _INHERITED,
    }
    for tag, text in (("title", title), ("desc", description)):
        ElementTree.SubElement(root, tag, {"id": f"{figure_id}-{tag}"}).text = text
    root.extend(_contents(source, figure_id))
    ElementTree.indent(root, space="")
    return ElementTree.tostring(root, encoding="unicode").replace(" />", "/>")


def _contents(source: ElementTree.Element, figure_id: str) -> list[ElementTree.Element]:
    definitions = ElementTree.Element("defs")
    drawing = [part for part in (_copy(child, definitions) for child in source) if part is not None]
    names = {name: f"{figure_id}-{count}" for count, name in enumerate(_used(drawing))}
    for part in (definitions, *drawing):
        for element in part.iter():
            _rename(element, names)
    flat = [piece for part in drawing for piece in _unwrapped(part)]
    return [definitions, *flat] if len(definitions) else flat


def _copy(
    source: ElementTree.Element, definitions: ElementTree.Element
) -> ElementTree.Element | None:
    """A lean copy without namespaces; definitions are gathered in one place."""
    tag = source.tag.removeprefix(_SVG)
    if tag in ("metadata", "style"):
        return None
    if tag == "defs":
        parts = (_copy(child, definitions) for child in source)
        definitions.extend(part for part in parts if part is not None)
        return None
    copy = ElementTree.Element(tag, dict(_attributes(source)))
    for child in source:
        part = _copy(child, definitions)
        if part is not None:
            copy.append(part)
    return copy


def _attributes(source: ElementTree.Element) -> Iterator[tuple[str, str]]:
    style = [source.attrib["style"]] if source.get("style") else []
    for name, value in source.attrib.items():
        if name == _HREF:
            yield "href", value
        elif name == "d":
            yield name, _short_glyph(value) if _is_glyph(source) else _short_path(value)
        elif name == "transform" and _is_glyph(source):
            yield name, f"scale({GLYPH_STEP / 64:g})"
        elif name == "transform" and (shift := _SHIFT.fullmatch(value)):
            yield "x", _places(shift[1], 1)  # in tenths of a point at most
        elif name in ("fill", "stroke"):
            style.append(f"{name}: {value}")  # a variable is sure to work in a style
        elif name != "style":
            yield name, _NUMBER.sub(_four_places, value) if name != "id" else value
    if style:
        yield "style", _with_roles("; ".join(style))


def _with_roles(style: str) -> str:
    css = {role.light: role.css for role in palette().values()}

    def variable(found: re.Match[str]) -> str:
        value = found.group().lower()
        if value not in css:
            raise ForeignColourError(value)
        return css[value]

    style = style.replace("stroke-dashoffset: 0; ", "")  # as it is anyway
    return _COLOUR.sub(variable, _NUMBER.sub(_four_places, style))


def _is_glyph(source: ElementTree.Element) -> bool:
    """Matplotlib defines each letter once, in 64ths of its unit."""
    return source.get("transform") == "scale(0.015625)"


def _short_path(data: str) -> str:
    """Path data without needless digits and spaces."""
    numbers = _NUMBER.sub(lambda found: _places(found.group(), 2), data)
    return re.sub(r" ?([A-Za-z]) ?", r"\1", " ".join(numbers.split())).replace(" -", "-")


def _short_glyph(data: str) -> str:
    """A letter's outline on a coarser grid, each piece counted from the end of the last one."""
    pieces: list[str] = []
    x = y = 0
    for command, numbers in re.findall(r"([A-Za-z])([^A-Za-z]*)", data):
        grid = [round(float(number) / GLYPH_STEP) for number in numbers.split()]
        steps = [n - (y if index % 2 else x) for index, n in enumerate(grid)]
        x, y = grid[-2:] or (x, y)
        pieces.append(command.lower() + " ".join(map(str, steps)).replace(" -", "-"))
    return "".join(pieces)


def _four_places(found: re.Match[str]) -> str:
    return _places(found.group(), 4)


def _places(number: str, places: int) -> str:
    text = f"{float(number):.{places}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _used(drawing: list[ElementTree.Element]) -> list[str]:
    """The ids that something refers to, in the order of first use."""
    names: dict[str, None] = {}
    for part in drawing:
        for element in part.iter():
            for name in _references(element):
                names.setdefault(name)
    return list(names)


def _references(element: ElementTree.Element) -> Iterator[str]:
    for name, value in element.attrib.items():
        if name == "href":
            yield value.removeprefix("#")
        yield from _REFERENCE.findall(value)


def _rename(element: ElementTree.Element, names: Mapping[str, str]) -> None:
    """New names for the ids in use; an id that nothing refers to goes."""
    own = element.attrib.pop("id", "")
    for name, value in element.attrib.items():
        if name == "href":
            element.set(name, f"#{names[value.removeprefix('#')]}")
        else:
            element.set(name, _REFERENCE.sub(lambda found: f"url(#{names[found[1]]})", value))
    if own in names:
        element.set("id", names[own])


def _unwrapped(element: ElementTree.Element) -> list[ElementTree.Element]:
    """The element, or what it holds where it is a group that says nothing."""
    children = [piece for child in element for piece in _unwrapped(child)]
    if element.tag == "g" and not element.attrib:
        return children
    element[:] = children
    return [element]
