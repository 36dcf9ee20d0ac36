"""How the site looks, and what its pages say about themselves to machines.

Takes MkDocs' configuration, files and pages; changes them: templates, style sheets, script and
fonts of our own, schema.org data for each page and the list of addresses for search engines.
Everything is taken along: a built page asks no other host for anything. Nothing depends on the day
of the build.
"""

import json
import re
from collections.abc import Callable, Sequence
from html import escape as escape_html
from html import unescape
from pathlib import Path
from urllib.parse import quote, urljoin
from xml.sax.saxutils import escape

from mkdocs.config.defaults import MkDocsConfig
from mkdocs.structure.files import File, Files
from mkdocs.structure.pages import Page
from mkdocs.utils import get_relative_url

from fallwork.errors import table
from fallwork.figures import palette
from fallwork.pages.finding import COURSE, FOLDER
from fallwork.scenario import CourseData
from fallwork.scenario.course import Contact
from fallwork.site.markup import CurrentPage, curled
from fallwork.site.mathml import to_mathml

_FORMULA = re.compile(r'"\$((?:[^"\\]|\\.)*)\$"')  # a text of JSON in dollars
_HERE = Path(__file__).parent
ASSETS = _HERE / "assets"
_ADDRESS = "assets/fallwork"
_MARKUP = "fallwork.site.markup:FallworkMarkup"
# Of the theme's files, those that no page asks for: its search, its own picture, maps for those who
# mend it (3 MB together), and the list of addresses for search engines.
_SEARCH = ("assets/javascripts/lunr/", "assets/javascripts/workers/")
_LEFT_OUT = (*_SEARCH, "assets/images/favicon.png", "sitemap.xml")
_LEFT_OUT_ENDS = (".map",)
# A menu of the theme is named by a label that is empty where its heading is a link.
_MENU = re.compile(r'(<nav class="md-nav"[^>]*?) aria-labelledby="_(_nav_[0-9_]+)_label"')
_MENU_TITLE = re.compile(r'<label class="md-nav__title" for="_(_nav_[0-9_]+)"')
_HEADING = re.compile(r'<h[1-3][^>]* id="([^"]+)"[^>]*>(.*?)</h[1-3]>', re.DOTALL)
_SCHEME = '[data-md-color-scheme="{}"]'
# Without scripts nothing reads the reader's wish but the style sheet.
_COLOURS = (_HERE / "colours.css.in").read_text("utf-8")


def furnish(config: MkDocsConfig, current: CurrentPage) -> None:
    """Templates, Markdown extension, style sheets and script."""
    config.theme.dirs.insert(0, str(_HERE / "theme"))
    config.theme["favicon"] = f"{_ADDRESS}/favicon.svg"
    config.theme["logo"] = f"{_ADDRESS}/logo.svg"
    config.markdown_extensions.append(_MARKUP)
    config.mdx_configs[_MARKUP] = {"current": current}
    styles = [f"{_ADDRESS}/{name}.css" for name in ("colours", "frame", "text", "print")]
    config.extra_css = [*styles, *config.extra_css]
    scripts = [f"{_ADDRESS}/{name}.js" for name in ("copy-link", "seek", "finder", "folds")]
    config.extra_javascript = [*config.extra_javascript, *scripts]
    # The theme's list of addresses carries the day of the build; ``write_sitemap`` has none.
    config.theme.static_templates.discard("sitemap.xml")
    if not config.site_url:  # the page for wrong addresses must know where the site stands
        config.theme.static_templates.discard("404.html")


def whom_to_ask(contact: Contact | None) -> str | None:
    """The line at the foot of each page, as HTML."""
    return escape_html(f"Questions? Ask {contact.who}, {contact.how}.") if contact else None


def add_assets(files: Files, config: MkDocsConfig) -> None:
    """Our own files into the site; those of the theme that it never asks for out of it."""
    for file in list(files):
        unused = file.src_uri.startswith(_LEFT_OUT) or file.src_uri.endswith(_LEFT_OUT_ENDS)
        if unused and file.src_dir != config.docs_dir:
            files.remove(file)
    for path in sorted(path for path in ASSETS.rglob("*") if path.is_file()):
        address = f"{_ADDRESS}/{path.relative_to(ASSETS).as_posix()}"
        files.append(File.generated(config, address, content=own_file(path)))
    files.append(File.generated(config, f"{_ADDRESS}/colours.css", content=colours()))


def own_file(path: Path) -> bytes:
    """One of our own files as it lies in the site: a script is a block, with its own names."""
    data = path.read_bytes()
    return b"{\n" + data + b"}\n" if path.suffix == ".js" else data


def colours() -> str:
    """The colours of drawings as variables ``--fw-<role>`` of the page, for the light and the dark
    page and for print; the rest of the site takes its colours from them too.
    """
    day, night = (
        "".join(f"  --fw-{role.name}: {getattr(role, scheme)};\n" for role in palette().values())
        for scheme in ("light", "dark")
    )
    light, dark = map(_SCHEME.format, ("default", "slate"))
    return _COLOURS.format(light=light, dark=dark, day=day, night=night)


def packaged(config: MkDocsConfig) -> Callable[[str], bytes | None]:
    """Gives the bytes of the file that came along with a program and belongs at an address."""
    own = config.theme.custom_dir
    themes = [Path(folder) for folder in config.theme.dirs if folder != own]

    def find(address: str) -> bytes | None:
        if address.startswith(f"{_ADDRESS}/"):
            ours = ASSETS / address.removeprefix(f"{_ADDRESS}/")
            return own_file(ours) if ours.is_file() else None
        places = (folder / address for folder in themes)
        return next((place.read_bytes() for place in places if place.is_file()), None)

    return find


def name_parts(html: str, page: Page) -> str:
    """The HTML of a page whose menus have the names that the theme leaves out, and in whose menu
    the page, or the lab that it belongs to, is marked.
    """
    named = _MENU_TITLE.sub(r'\g<0> id="fw\1"', html)
    named = _MENU.sub(r'\1 aria-labelledby="fw\2"', named)
    lab = f"{page.meta.get('term')}/{page.meta.get('lab')}/index.html"
    for url, what in ((page.url, "page"), (lab, "true")):
        entry = f'<a href="{get_relative_url(url, page.url)}" class="md-nav__link'
        named = named.replace(entry, entry.replace(" class", f' aria-current="{what}" class'))
    return named


def sections(page: Page, html: str) -> list[list[str]]:
    """What can be found of a page that belongs to no lab: of each part that has an address this,
    the page's title, the heading and the words below it, each once.
    """
    excluded = (page.meta.get("search") or {}).get("exclude")
    if page.meta.get("lab") or excluded:
        return []
    found, (_, *parts) = list[list[str]](), _HEADING.split(html)
    title = page.meta.get("title") or page.title or ""
    for id_, heading, below in zip(parts[::3], parts[1::3], parts[2::3], strict=True):
        said, text = (unescape(re.sub("<[^>]*>", " ", each)) for each in (heading, below))
        words = " ".join(dict.fromkeys(re.findall(r"[^\W\d_]{3,}", text.lower())))
        found.append([f"{page.url}#{id_}", unescape(str(title)), " ".join(said.split()), words])
    return found


def write_sections(site: Path, found: Sequence[Sequence[str]]) -> None:
    """Add what can be found on pages of no lab to the file with which a search begins."""
    data, script = json.dumps(found, ensure_ascii=False), site / FOLDER / f"{COURSE}.js"
    if script.is_file():
        with script.open("a", encoding="utf-8", newline="\n") as file:
            file.write(f"fwSearch[{json.dumps(COURSE)}].entries={data}\n")


# ---- what pages say about themselves


def describe(page: Page, data: CourseData) -> None:
    """Put the page's schema.org data into its front matter, if it teaches something; and escape
    title and description, which the theme writes into its pages as they are.
    """
    meta = page.meta
    for name in ("title", "description"):
        if isinstance(meta.get(name), str):
            meta[name] = curled(meta[name])
    if kind := table("pages", "words")["kinds"].get(str(meta.get("page", ""))):
        resource = {
            "@context": "https://schema.org",
            "@type": "LearningResource",
            "name": str(meta.get("title", "")),
            "description": str(meta.get("description", "")),
            "inLanguage": "en",
            "learningResourceType": kind,
            "about": "Mechanics",
            "isPartOf": {"@type": "Course", "name": data.course.title},
            **({"url": page.canonical_url} if page.canonical_url else {}),
        }
        meta["fw_resource"] = _unclosing(
            json.dumps(resource, ensure_ascii=False, separators=(",", ":"))
        )
    if "fw_data" in meta:
        meta["fw_data"] = _unclosing(_with_formulas(meta["fw_data"]))
    for name in ("title", "description"):
        if isinstance(meta.get(name), str):
            meta[name] = escape_html(meta[name])


def _unclosing(text: str) -> str:
    """JSON that can't end the element in which it stands."""
    return text.translate({ord(sign): f"\\u{ord(sign):04x}" for sign in "<>&"})


def _with_formulas(data: str) -> str:
    """What scripts work from, with each formula once as MathML in the list ``math``, and in its
    places a dollar sign with its number there.
    """
    known: dict[str, int] = {}
    text = _FORMULA.sub(lambda found: f'"${known.setdefault(found[1], len(known))}"', data)
    math = [to_mathml(json.loads(f'"{formula}"'), display=False) for formula in known]
    return f'{text[:-1]},"math":{json.dumps(math, ensure_ascii=False)}}}'


def write_sitemap(site: Path, root: str | None, pages: Sequence[Page]) -> None:
    """``sitemap.xml``, if the site knows its address; there is no standard for a relative one."""
    if root:  # what search engines may know
        listed = (page for page in pages if "noindex" not in str(page.meta.get("robots", "")))
        urls = sorted(page.url for page in listed)
        addresses = (escape(urljoin(root, quote(url))) for url in urls)
        entries = "".join(f"  <url><loc>{each}</loc></url>\n" for each in addresses)
        (site / "sitemap.xml").write_text(
            '<?xml version="1.0" encoding="UTF-8"?>\n'
            f'<urlset xmlns="http://www.sitemaps.org/schemas/sitemap/0.9">\n{entries}</urlset>\n',
            encoding="utf-8",
            newline="\n",
        )
