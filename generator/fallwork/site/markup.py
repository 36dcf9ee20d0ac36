"""What Fallwork adds to Markdown: formulas, drawings, tables with heads, links to headings.

Takes the tree that Python-Markdown has made of one page; changes it in place. A page says only
what is meant (``$…$``, an image, a pipe table); how that becomes HTML stands here.
"""

import html
import posixpath
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import unquote
from xml.etree.ElementTree import Element

from markdown import Markdown
from markdown.extensions import Extension
from markdown.treeprocessors import Treeprocessor

from fallwork.site.errors import PageError
from fallwork.site.handwritten import place_of
from fallwork.site.mathml import FormulaError, to_mathml, words

_FORMULA = "arithmatex"  # the class that the formula finder gives to what it found
_LINKED = ("h2", "h3", "h4", "h5", "h6")
_UNSEARCHED = ("data-search-exclude", "true")
# A drawing that is part of a page needs no name of its own, which a step may have.
_ROOT_ID = re.compile(r'(<svg\b[^>]*?) id="[^"]*"')
_NAMED = "fw-named"  # marks, between two steps of this module, a formula that needs a name


@dataclass(kw_only=True)
class CurrentPage:
    """The page in hand, and the drawings that pages may show."""

    path: str = ""  # of the Markdown file
    file: Path | None = None  # the same as the author sees it; None for the course's own pages
    drawings: Mapping[str, str] = field(default_factory=dict)  # path -> SVG
    to_come: Mapping[str, str] = field(default_factory=dict)  # path of a file -> when it opens
    to_send: bool = True  # whether students have this page too, so that its links may be sent

    def target(self, link: str) -> str:
        """The path to which a link of this page leads, from the folder of the pages on."""
        path = unquote(link.partition("#")[0])
        return posixpath.normpath(posixpath.join(posixpath.dirname(self.path), path))

    def wrong(self, about: str, found: str, expected: str) -> PageError:
        """An error that names this page, and the place where it holds ``about``."""
        page = self.path if self.file is None else str(place_of(self.file, about))
        return PageError(page=page, found=found, expected=expected)


class FallworkMarkup(Extension):
    """The extension; ``current`` changes from page to page."""

    def __init__(self, current: CurrentPage) -> None:
        super().__init__()
        self.current = current

    def extendMarkdown(self, md: Markdown) -> None:  # noqa: N802 - Python-Markdown's name
        """Work after inline markup is read (20); link headings once they have ids (5)."""
        md.treeprocessors.register(_Tables(md), "fallwork-tables", 19)
        md.treeprocessors.register(_Formulas(md, self.current), "fallwork-formulas", 18)
        md.treeprocessors.register(_Figures(md, self.current), "fallwork-figures", 17)
        md.treeprocessors.register(_ToCome(md, self.current), "fallwork-to-come", 16)
        md.treeprocessors.register(_HeadingLinks(md, self.current), "fallwork-headings", 4)


class _Formulas(Treeprocessor):
    """LaTeX becomes MathML, or the build stops."""

    def __init__(self, md: Markdown, current: CurrentPage) -> None:
        super().__init__(md)
        self.current = current

    def run(self, root: Element) -> None:
        for element in root.iter():
            if element.get("class") == _FORMULA:
                self._set(element, display=element.tag == "div")

    def _set(self, element: Element, *, display: bool) -> None:
        latex = (element.text or "").strip()[2:-2].strip()  # without \( \) or \[ \]
        if display:
            latex = html.unescape(latex)  # the formula finder escapes blocks only
            element.set(*_UNSEARCHED)
        try:
            mathml = to_mathml(latex, display=display)
        except FormulaError as error:
            expected = "write it with other LaTeX commands"
            raise self.current.wrong(latex, str(error), expected) from error
        if element.attrib.pop(_NAMED, None):
            mathml = mathml.replace("<math", f'<math aria-label="{html.escape(words(mathml))}"', 1)
        element.set("class", "fw-formula")
        element.text = self.md.htmlStash.store(mathml)


class _Figures(Treeprocessor):
    """Drawings go into the page itself, so that they follow its colours."""

    def __init__(self, md: Markdown, current: CurrentPage) -> None:
        super().__init__(md)
        self.current = current

    def run(self, root: Element) -> None:
        for figure in root.iter("figure"):
            _unwrap_images(figure)
        for parent in list(root.iter()):
            for image in parent.findall("img"):
                self._set(image, parent)

    def _set(self, image: Element, parent: Element) -> None:
        source, name = image.get("src", ""), image.get("alt", "").strip()
        if not name:
            raise self.current.wrong(
                source,
                f"the image {source!r} has no text alternative",
                "say between the square brackets what it shows",
            )
        path = self.current.target(source)
        svg = self.current.drawings.get(path)
        if svg is None:
            return  # an image of the author's own; MkDocs checks that it is there
        holder = Element("div", dict((("class", "fw-drawing"), _UNSEARCHED)))
        holder.text = self.md.htmlStash.store(_ROOT_ID.sub(r"\1", svg, count=1))
        _replace(parent, image, holder)
        if parent.tag == "figure":
            _add_class(parent, "fw-figure")


class _ToCome(Treeprocessor):
    """In place of a link to what students don't have yet, or of a picture, stands when it opens."""

    def __init__(self, md: Markdown, current: CurrentPage) -> None:
        super().__init__(md)
        self.current = current

    def run(self, root: Element) -> None:
        for element in root.iter():
            link = element.attrib.get({"a": "href", "img": "src"}.get(element.tag, ""), "")
            opens = self.current.to_come.get(self.current.target(link)) if link else None
            if opens:
                if element.tag == "img":
                    element.text = element.get("alt")
                words = Element("span")
                words.text = f" (opens on {opens})"
                element.append(words)
                element.tag = "span"
                element.attrib.clear()


class _Tables(Treeprocessor):
    """The first row and the first column become heads; a wide table scrolls in its own box."""

    def run(self, root: Element) -> None:
        tables = [(table, parent) for parent in root.iter() for table in parent.findall("table")]
        for number, (table, parent) in enumerate(tables, start=1):
            for row in table.iter("tr"):
                _set_heads(row)
            table.set("class", "fw-grid")
            box = Element("div", {"class": "fw-scroll", "role": "group", "tabindex": "0"})
            _replace(parent, table, box)
            box.append(table)
            caption = parent.find("figcaption") if parent.tag == "figure" else None
            if caption is None:
                box.set("aria-label", f"Table {number}")
            else:
                _add_class(parent, "fw-table")
                parent.remove(caption)
                caption.tag, caption.tail = "caption", None
                caption.set("id", f"table-{number}")
                box.set("aria-labelledby", f"table-{number}")
                table.insert(0, caption)


class _HeadingLinks(Treeprocessor):
    """Beside each heading with an address stands a link to it: what is copied and sent."""

    def __init__(self, md: Markdown, current: CurrentPage) -> None:
        super().__init__(md)
        self.current = current

    def run(self, root: Element) -> None:
        if not self.current.to_send:
            return
        headings = [
            (heading, parent)
            for parent in root.iter()
            for heading in parent
            if heading.tag in _LINKED and heading.get("id")
        ]
        for heading, parent in headings:
            words = " ".join("".join(heading.itertext()).split())
            link = Element(
                "a",
                {
                    "class": "fw-link",
                    "href": f"#{heading.get('id')}",
                    "aria-label": f"Link to: {words}",
                    "data-search-exclude": "true",
                },
            )
            link.text = "#"
            # Not around the heading: the search takes what is in a box for a text of its own.
            heading.tail, link.tail = None, heading.tail
            parent.insert(list(parent).index(heading) + 1, link)


def _set_heads(row: Element) -> None:
    for column, cell in enumerate(row):
        if not "".join(cell.itertext()).strip():
            cell.tag = "td"  # an empty head tells nobody anything
        elif cell.tag == "th":
            cell.set("scope", "col")
            _name_lone_formula(cell)
        elif column == 0:
            cell.tag = "th"
            cell.set("scope", "row")
            _name_lone_formula(cell)


def _name_lone_formula(head: Element) -> None:
    """A head that is nothing but a formula gets a name that every reading program knows."""
    alone = len(head) == 1 and not (head.text or "").strip() and not (head[0].tail or "").strip()
    if alone and head[0].get("class") == _FORMULA:
        head[0].set(_NAMED, "true")


def _unwrap_images(figure: Element) -> None:
    """An image that stands alone in a paragraph of a figure needs no paragraph."""
    for paragraph in figure.findall("p"):
        if len(paragraph) == 1 and paragraph[0].tag == "img" and not (paragraph.text or "").strip():
            _replace(figure, paragraph, paragraph[0])


def _replace(parent: Element, old: Element, new: Element) -> None:
    new.tail, old.tail = old.tail, None
    parent[list(parent).index(old)] = new


def _add_class(element: Element, name: str) -> None:
    element.set("class", f"{element.get('class', '')} {name}".strip())
