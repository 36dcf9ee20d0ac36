"""How the site looks, and what its pages say about themselves to machines.

Takes MkDocs' configuration, files and pages; changes them: templates, style sheets, script and
fonts of our own, schema.org data for each page and the list of addresses for search engines.
Everything is taken along: a built page asks no other host for anything. Nothing depends on the day
of the build.
"""

import html
import json
import re
from collections.abc import Callable, Sequence
from pathlib import Path
from urllib.parse import quote, urljoin
from xml.sax.saxutils import escape

from jinja2.bccache import Bucket, BytecodeCache
from mkdocs.config.defaults import MkDocsConfig
from mkdocs.structure.files import File, Files
from mkdocs.structure.pages import Page
from mkdocs.utils import get_relative_url

from fallwork.errors import table
from fallwork.figures import palette
from fallwork.scenario import CourseData
from fallwork.scenario.course import Contact
from fallwork.site.markup import CurrentPage, curled

_HERE = Path(__file__).parent
ASSETS = _HERE / "assets"
_ADDRESS = "assets/fallwork"
_MARKUP = "fallwork.site.markup:FallworkMarkup"
# Of the theme's files, those that no page asks for: search in other languages, its own picture,
# maps for those who mend it (3 MB together), and the list of addresses for search engines.
_LEFT_OUT = ("assets/javascripts/lunr/", "assets/images/favicon.png", "sitemap.xml")
_LEFT_OUT_ENDS = (".map",)
# A menu of the theme is named by a label that is empty where its heading is a link.
_MENU = re.compile(r'(<nav class="md-nav"[^>]*?) aria-labelledby="_(_nav_[0-9_]+)_label"')
_MENU_TITLE = re.compile(r'<label class="md-nav__title" for="_(_nav_[0-9_]+)"')
_SEARCH_BOX = '<div class="md-search" data-md-component="search" role="dialog"'
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
    config.extra["polyfills"] = [f"{_ADDRESS}/search-from-folder.js"]
    scripts = [f"{_ADDRESS}/{name}.js" for name in ("copy-link", "find", "folds")]
    config.extra_javascript = [*config.extra_javascript, *scripts]
    # The theme's list of addresses carries the day of the build; ``write_sitemap`` has none.
    config.theme.static_templates.discard("sitemap.xml")
    if not config.site_url:  # the page for wrong addresses must know where the site stands
        config.theme.static_templates.discard("404.html")


def whom_to_ask(contact: Contact | None) -> str | None:
    """The line at the foot of each page, as HTML."""
    return html.escape(f"Questions? Ask {contact.who}, {contact.how}.") if contact else None


def add_assets(files: Files, config: MkDocsConfig) -> None:
    """Our own files into the site; those of the theme that it never asks for out of it."""
    for file in list(files):
        unused = file.src_uri.startswith(_LEFT_OUT) or file.src_uri.endswith(_LEFT_OUT_ENDS)
        if unused and file.src_dir != config.docs_dir:
            files.remove(file)
    for path in sorted(path for path in ASSETS.rglob("*") if path.is_file()):
        address = f"{_ADDRESS}/{path.relative_to(ASSETS).as_posix()}"
        files.append(File.generated(config, address, abs_src_path=str(path)))
    files.append(File.generated(config, f"{_ADDRESS}/colours.css", content=colours()))


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
        ours = ASSETS / address.removeprefix(f"{_ADDRESS}/")
        places = [ours] if address.startswith(f"{_ADDRESS}/") else [t / address for t in themes]
        return next((place.read_bytes() for place in places if place.is_file()), None)

    return find


def name_parts(html: str, page: Page) -> str:
    """The HTML of a page whose search box and menus have the names that the theme leaves out, and
    in whose menu the page, or the lab that it belongs to, is marked.
    """
    named = _MENU_TITLE.sub(r'\g<0> id="fw\1"', html)
    named = _MENU.sub(r'\1 aria-labelledby="fw\2"', named)
    lab = f"{page.meta.get('term')}/{page.meta.get('lab')}/index.html"
    for url, what in ((page.url, "page"), (lab, "true")):
        entry = f'<a href="{get_relative_url(url, page.url)}" class="md-nav__link'
        named = named.replace(entry, entry.replace(" class", f' aria-current="{what}" class'))
    return named.replace(_SEARCH_BOX, f'{_SEARCH_BOX} aria-label="Search"')


class Compiled(BytecodeCache):
    """Templates of the theme as they were compiled, for further builds of the same process: half of
    the time of a small site. One whose source has changed is compiled again.
    """

    def __init__(self) -> None:
        self._known: dict[str, bytes] = {}

    def load_bytecode(self, bucket: Bucket) -> None:
        """Fill in what is known; whether it is of this source is checked there."""
        if bucket.key in self._known:
            bucket.bytecode_from_string(self._known[bucket.key])

    def dump_bytecode(self, bucket: Bucket) -> None:
        """Keep what was compiled now."""
        self._known[bucket.key] = bucket.bytecode_to_string()


COMPILED = Compiled()


def write_script(site: Path) -> None:
    """Write ``search/search_index.js`` beside the index of the built ``site``, if it has one: a
    page read from a folder may not fetch the index, but it may load it as a script.
    """
    index = site / "search" / "search_index.json"
    if index.is_file():
        script = f"var __index = {index.read_text(encoding='utf-8')}"
        index.with_suffix(".js").write_text(script, encoding="utf-8")


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
        text = json.dumps(resource, ensure_ascii=False, separators=(",", ":"))
        for sign in "<>&":  # so that it can't end the element in which it stands
            text = text.replace(sign, f"\\u{ord(sign):04x}")
        meta["fw_resource"] = text
    for name in ("title", "description"):
        if isinstance(meta.get(name), str):
            meta[name] = html.escape(meta[name])


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
