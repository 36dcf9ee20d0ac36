"""What Fallwork adds to Markdown: formulas, drawings, tables with heads, links to headings.

Takes the tree that Python-Markdown has made of one page; changes it in place. A page says only
what is meant (``$…$``, an image, a pipe table); how that becomes HTML stands here.
"""

import html
import posixpath
import re
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from urllib.parse import unquote
from xml.etree.ElementTree import Element

from markdown import Markdown
from markdown.extensions import Extension
from markdown.treeprocessors import Treeprocessor

from fallwork.pages.made import Listed
from fallwork.site.errors import PublicationError, place_of
from fallwork.site.mathml import FormulaError, to_mathml, to_pieces, to_rows, words

_FORMULA = "arithmatex"  # the class that the formula finder gives to what it found
_LINKED = ("h2", "h3", "h4", "h5", "h6")
# A drawing that is part of a page needs no name of its own, which a step may have.
_ROOT_ID = re.compile(r'(<svg\b[^>]*?) id="[^"]*"')
_NAMED = "fw-named"  # marks, between two steps of this module, a formula that needs a name
_ESCAPED = re.compile("\x02[^\x03]*\x03")  # a sign such as < while the page is made
_PLACE = "data-fw-place"  # marks an element that is filled in last
_EMPTY = re.compile(rf' {_PLACE}="([0-9]+)"([^>]*>)[^<]*<')
# Patterns begin with what is searched for, and then look back: so it is found quickly.
_BEHIND_SIGN = re.compile(r" (?<=[\s\u00a0][=≈<>×±] )")
_APOSTROPHE = re.compile(r"'(?:(?<=[^\W\d_]')(?=[^\W\d_])|(?<=s')(?=\s))")
_TAG = re.compile("<[^>]*>")
_MANY = 4  # columns, too many to stand side by side on a phone
_LONG = 26  # letters of a cell that then takes a line of its own


@dataclass(kw_only=True)
class CurrentPage:
    """The page in hand, and the drawings that pages may show."""

    path: str = ""  # of the Markdown file
    file: Path | None = None  # the same as the author sees it; None for the course's own pages
    drawings: Mapping[str, Listed] = field(default_factory=dict)  # by their paths
    to_come: Mapping[str, str] = field(default_factory=dict)  # path of a file -> when it opens
    to_send: bool = True  # whether students have this page too, so that its links may be sent
    _left: dict[str, str] = field(default_factory=dict)  # number -> what is filled in

    def target(self, link: str) -> str:
        """The path to which a link of this page leads, from the folder of the pages on."""
        path = unquote(link.partition("#")[0])
        return posixpath.normpath(posixpath.join(posixpath.dirname(self.path), path))

    def leave(self, element: Element, content: str, words: str = "") -> None:
        """Leave an element to ``filled``: until a page is complete, of its formulas
        and drawings the ``words`` will do, and their many elements only take time.
        """
        number = str(len(self._left))
        self._left[number] = content
        element.set(_PLACE, number)
        element.text = words

    def filled(self, html: str) -> str:
        """The HTML of a page with its formulas and drawings in their places."""
        return _EMPTY.sub(lambda found: f"{found[2]}{self._left.get(found[1], '')}<", html)

    @contextmanager
    def alone(self) -> Iterator[None]:
        """A page that is filled in at once, of which nothing is remembered."""
        before, self._left = self._left, {}
        try:
            yield
        finally:
            self._left = before

    def wrong(self, about: str, found: str, expected: str) -> PublicationError:
        """An error that names this page, and the place where it holds ``about``."""
        page = self.path if self.file is None else place_of(self.file, about)
        return PublicationError(f"{page}: {found}; {expected}")


class FallworkMarkup(Extension):
    """The extension; ``current`` changes from page to page."""

    def __init__(self, current: CurrentPage) -> None:
        super().__init__()
        self.current = current

    def extendMarkdown(self, md: Markdown) -> None:  # noqa: N802 - Python-Markdown's name
        """Work after inline markup is read (20); link headings once they have ids (5)."""
        for work, priority in (
            (_set_tables, 19),
            (_set_formulas, 18),
            (_set_figures, 17),
            (_say_what_is_to_come, 16),
            (_set_words, 15),
            (_set_wide_tables, 14),
            (_link_parts, 4),
        ):
            step = Treeprocessor(md)
            step.run = partial(work, page=self.current)  # type: ignore[method-assign]
            md.treeprocessors.register(step, work.__name__, priority)


def _set_formulas(root: Element, page: CurrentPage) -> None:
    """LaTeX becomes MathML, or the build stops."""
    for element in root.iter():
        if element.get("class") != _FORMULA:
            continue
        display = element.tag == "div"
        latex = (element.text or "").strip()[2:-2].strip()  # without \( \) or \[ \]
        if display:
            latex = html.unescape(latex)  # the formula finder escapes blocks only
        named = element.attrib.pop(_NAMED, None)
        try:
            set_in = (
                to_rows if display else partial(to_mathml, display=False) if named else to_pieces
            )
            mathml = set_in(latex)
        except FormulaError as error:
            raise page.wrong(latex, str(error), "write it with other LaTeX commands") from error
        if named:
            mathml = mathml.replace("<math", f'<math aria-label="{html.escape(words(mathml))}"', 1)
        element.set("class", "fw-formula")
        said = "" if display else html.unescape(_TAG.sub("", mathml))
        page.leave(element, mathml, said)


def _set_figures(root: Element, page: CurrentPage) -> None:
    """Drawings go into the page, to follow its colours; what is shown has a text alternative."""
    for figure in root.iter("figure"):
        for paragraph in figure.findall("p"):
            # An image that stands alone in a paragraph of a figure needs no paragraph.
            if [each.tag for each in paragraph] == ["img"] and not (paragraph.text or "").strip():
                _replace(figure, paragraph, paragraph[0])
    for parent, image in _within(root, "img"):
        source, name = image.get("src", ""), image.get("alt", "").strip()
        if not name:
            found = f"the image {source!r} has no text alternative"
            raise page.wrong(source, found, "say between the square brackets what it shows")
        drawing = page.drawings.get(page.target(source))
        if drawing is not None:  # else it's the author's own; MkDocs checks that it is there
            holder = Element("div", {"class": "fw-drawing"})
            page.leave(holder, curled(_ROOT_ID.sub(r"\1", drawing.load().body, count=1)))
            _replace(parent, image, holder)
            if parent.tag == "figure":
                _add_class(parent, "fw-figure")


def _say_what_is_to_come(root: Element, page: CurrentPage) -> None:
    """In place of a link to what students don't have yet, or of a picture, stands when it opens."""
    for element in root.iter():
        link = element.get({"a": "href", "img": "src"}.get(element.tag, ""))
        opens = page.to_come.get(page.target(link)) if link else None
        if opens:
            if element.tag == "img":
                element.text = element.get("alt")
            words = Element("span")
            words.text = f" (opens on {opens})"
            element.append(words)
            element.tag = "span"
            element.attrib.clear()


def _set_words(root: Element, page: CurrentPage) -> None:
    """A sign goes to the next line with what follows it. All apostrophes are of one kind."""
    for element in root.iter():
        if element.text and element.tag != "code":
            element.text = _set(element.text)
        if element.tail:
            element.tail = _set(element.tail)


def _set(words: str) -> str:
    return curled(_BEHIND_SIGN.sub("\u00a0", words))


def curled(text: str) -> str:
    """The text with one kind of apostrophe, the typographic one; quotation marks stay."""
    return _APOSTROPHE.sub("’", text)


def _set_tables(root: Element, page: CurrentPage) -> None:
    """The first row and the first column become heads; a wide table scrolls in its own box."""
    for number, (parent, table) in enumerate(_within(root, "table"), start=1):
        for column, cell in (each for row in table.iter("tr") for each in enumerate(row)):
            # An empty head tells nobody anything; one that is nothing but a formula gets a name
            # that every reading program knows.
            if not "".join(cell.itertext()).strip():
                cell.tag = "td"
            elif cell.tag == "th" or column == 0:
                cell.set("scope", "col" if cell.tag == "th" else "row")
                cell.tag = "th"
                alone = len(cell) == 1 and not f"{cell.text or ''}{cell[0].tail or ''}".strip()
                if alone and cell[0].get("class") == _FORMULA:
                    cell[0].set(_NAMED, "true")
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


def _set_wide_tables(root: Element, page: CurrentPage) -> None:
    """Where a table has many columns, each cell knows its head: on a phone it stands above it. Not
    so in a table to fill in.
    """
    for table in root.iter("table"):
        heads = table.findall("thead/tr/*")
        if len(heads) < _MANY:
            continue
        if not any(_read(cell) for cell in table.iterfind("tbody/tr/td")):
            _add_class(table, "fw-blank")
            continue
        _add_class(table, "fw-wide")
        for row in table.iterfind("tbody/tr"):
            for head, cell in zip(heads, row, strict=True):
                if len(_ESCAPED.sub("<", _read(cell))) > _LONG:
                    _add_class(cell, "fw-long")
                if cell.tag != "td":
                    continue
                if not len(head):
                    cell.set("data-head", curled(_read(head)))
                if len(head) or len(cell):
                    above = [_held_in("b", head)] if len(head) else []
                    cell[:] = [*above, _held_in("span", cell)]
                    cell.text = None


def _held_in(tag: str, cell: Element) -> Element:
    """What a cell holds as one element: in a grid words and formulas would be items each."""
    inner = Element(tag)
    inner.text = cell.text
    inner.extend(list(cell))
    return inner


def _link_parts(root: Element, page: CurrentPage) -> None:
    """Beside each heading, fold, question and common mistake with an address stands a link to it:
    what is copied and sent. That of a mistake is the address of its row.
    """
    for row in root.iter("tr"):
        if row[-1].get("id"):
            row.set("id", row[-1].attrib.pop("id"))
    if not page.to_send:
        return
    for tag in _LINKED:
        for parent, heading in _within(root, tag):
            _link_after(parent, heading, heading.get("id"), _read(heading))
    cards = {fold: card for card in root.iter("section") for fold in card.iter("details")}
    for fold in root.iter("details"):
        box, summary = fold.find("div"), fold.find("summary")
        if box is None or summary is None:
            continue
        title = cards[fold].find("header/h3") if fold in cards else None
        step = "" if title is None else f"{_read(title)}: "
        _link_after(fold, summary, box.get("id"), f"{step}{_read(summary)}")
        for question in box.findall("div[@id]"):
            said, asked = question.find("p"), question.find("p/strong")
            if said is not None and asked is not None:
                said.append(_link(question.get("id", ""), _read(asked)))
        for mistake in fold.iterfind(".//tr[@id]"):
            mistake[-1].append(_link(mistake.get("id", ""), f"{step}{_read(mistake[-1])}"))


def _read(element: Element) -> str:
    return " ".join("".join(element.itertext()).split())


def _link_after(parent: Element, element: Element, id_: str | None, words: str) -> None:
    if id_:
        link = _link(id_, words)
        element.tail, link.tail = None, element.tail
        parent.insert(list(parent).index(element) + 1, link)


def _link(id_: str, words: str) -> Element:
    link = Element("a", {"class": "fw-link", "href": f"#{id_}", "aria-label": f"Link to: {words}"})
    link.text = "#"
    return link


def _within(root: Element, tag: str) -> list[tuple[Element, Element]]:
    """Elements with what holds them."""
    return [(parent, each) for parent in root.iter() for each in parent.findall(tag)]


def _replace(parent: Element, old: Element, new: Element) -> None:
    new.tail, old.tail = old.tail, None
    parent[list(parent).index(old)] = new


def _add_class(element: Element, name: str) -> None:
    element.set("class", f"{element.get('class', '')} {name}".strip())
