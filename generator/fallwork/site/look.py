"""How the site looks: templates, style sheets, script and fonts of our own.

Takes MkDocs' configuration and files; changes them. Everything is taken along: a built page
asks no other host for anything.
"""

import html
import re
from collections.abc import Callable
from pathlib import Path

from jinja2.bccache import Bucket, BytecodeCache
from mkdocs.config.defaults import MkDocsConfig
from mkdocs.structure.files import File, Files
from mkdocs.structure.pages import Page

from fallwork.scenario import Contact
from fallwork.site import colours
from fallwork.site.markup import CurrentPage

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
    scripts = [f"{_ADDRESS}/{name}.js" for name in ("copy-link", "find")]
    config.extra_javascript = [*config.extra_javascript, *scripts]
    # The theme's list of addresses carries the day of the build; ``description`` writes one.
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
    address = f"{_ADDRESS}/colours.css"
    files.append(File.generated(config, address, content=colours.stylesheet()))


def escape_titles(page: Page) -> None:
    """The theme writes titles and descriptions into its pages as they are."""
    for name in ("title", "description"):
        if isinstance(page.meta.get(name), str):
            page.meta[name] = html.escape(page.meta[name])


def packaged(config: MkDocsConfig) -> Callable[[str], bytes | None]:
    """Gives the bytes of the file that came along with a program and belongs at an address."""
    own = config.theme.custom_dir
    themes = [Path(folder) for folder in config.theme.dirs if folder != own]

    def find(address: str) -> bytes | None:
        ours = ASSETS / address.removeprefix(f"{_ADDRESS}/")
        places = [ours] if address.startswith(f"{_ADDRESS}/") else [t / address for t in themes]
        return next((place.read_bytes() for place in places if place.is_file()), None)

    return find


def name_parts(page: str) -> str:
    """The HTML of a page whose search box and menus have the names that the theme leaves out."""
    named = _MENU_TITLE.sub(r'\g<0> id="fw\1"', page)
    named = _MENU.sub(r'\1 aria-labelledby="fw\2"', named)
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
