"""The files of a site: the course's pages and the short navigation, and what is the author's own:
pages, files beside them, changes of the theme, settings.

Takes MkDocs' collection of files and its settings, and the course's; changes both, and gives what
is wrong there in sentences with file and line, and what would be right. Files of the author's own
that are no text nobody can read for answers: the course's file declares from when on students may
have them. A lab's pages stay out of the global navigation, which MkDocs repeats on every page: they
are reached by links.
"""

import html
import logging
import os
import posixpath
import re
from collections import Counter
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from datetime import datetime
from fnmatch import fnmatchcase
from functools import cache
from pathlib import Path, PurePosixPath
from typing import Any

from mkdocs.config.config_options import PathSpec
from mkdocs.config.defaults import MkDocsConfig
from mkdocs.structure.files import File, Files, InclusionLevel
from mkdocs.structure.pages import Page
from mkdocs.utils import is_markdown_file

from fallwork.errors import Place
from fallwork.pages.build import GENERAL
from fallwork.pages.made import Listed
from fallwork.scenario import Course, from_here
from fallwork.scenario.course import site_url
from fallwork.scenario.report import Refusal
from fallwork.site.errors import PublicationError, place_of, require, said
from fallwork.site.reading import PageParser, text_of

_TEXTS = (".html", ".htm", ".xhtml", ".svg", ".css", ".js", ".mjs")  # and Markdown
_FOR_SERVERS = "!/.nojekyll\n!/.htaccess\n!/.domains\n!/.well-known/"
_FOR_WRONG_ONES = "404.html"
_HEADINGS = ("h2", "h3", "h4", "h5", "h6")  # below the title
_SCHEME = re.compile(r"[a-z][a-z0-9+.-]*:|//")
NavItem = str | dict[str, Any]  # as in mkdocs.yml


# ---- the settings


def settings_of(config: MkDocsConfig) -> Path:
    """The file of the settings, as messages name it."""
    return from_here(Path(config.config_file_path))


def pages_folder(config: MkDocsConfig) -> Path:
    """The folder of the hand-written pages, as messages name it."""
    return from_here(Path(config.docs_dir))


def prepare(config: MkDocsConfig) -> None:
    """Raise ``PublicationError`` for the setting with which no page is where links lead, a second
    search, and an address of the site at which the course's own file would stop; let through, of
    the hidden files that are kept out of the site, those that web servers ask for.
    """
    if config.use_directory_urls:
        place = place_of(settings_of(config), "use_directory_urls")
        raise PublicationError(said("directories", place=place))
    if {"search", "material/search"} & config.plugins.keys():
        place = place_of(settings_of(config), "search", below="plugins:")
        raise PublicationError(said("search", place=place))
    if config.site_url is not None:
        try:
            site_url(config.site_url)
        except Refusal as error:
            place = place_of(settings_of(config), "site_url")
            raise PublicationError(f"{place}: {error}") from error
    for_servers = PathSpec().validate(_FOR_SERVERS)
    config.exclude_docs = for_servers + config.exclude_docs if config.exclude_docs else for_servers


def own_words(config: MkDocsConfig) -> Iterator[tuple[Place, str]]:
    """What the settings say on pages."""
    titles = (title for title, _ in _entries(config.nav) if title)
    for text in (config.site_description, config.site_author, config.copyright, *titles):
        if text:
            yield place_of(settings_of(config), text), text


def _entries(nav: Any) -> Iterator[tuple[str, str]]:
    """The entries of nav: title, if there is one, and what it leads to, if not to more entries."""
    for entry in nav or []:
        for title, target in entry.items() if isinstance(entry, dict) else [("", entry)]:
            yield str(title), target if isinstance(target, str) else ""
            if isinstance(target, list):
                yield from _entries(target)


def _listed(config: MkDocsConfig) -> list[str]:
    """The pages to which nav leads, links to other sites left out."""
    return [to for _, to in _entries(config.nav) if to and not _SCHEME.match(to)]


# ---- the course's pages


def add(
    course: Iterable[Listed],
    files: Files,
    config: MkDocsConfig,
    page: Callable[[Listed, MkDocsConfig], File],
) -> Mapping[str, Listed]:
    """Add the course's pages to ``files``, each as ``page`` of it and the settings, set
    ``config.nav``, and give the drawings by their paths.

    A page of the author's own takes the place of a general one, in the navigation too unless
    theirs leads to it.
    """
    titles, listed, by_author = dict[str, str](), list[str](), _listed(config)
    drawings = dict[str, Listed]()
    for each in course:
        if each.path.endswith(".svg"):
            drawings[each.path] = each
        elif not each.path.endswith(".md"):
            files.append(File.generated(config, each.path, content=each.load().body))
        elif files.get_file_from_path(each.path) is None:
            # For the theme, which writes it into its pages as it is.
            titles[each.path] = html.escape(str(each.front.get("title", each.path)))
            listed += [each.path] if each.front.get("nav") is True else []
            files.append(page(each, config))
        elif each.path.removesuffix(".md") in GENERAL:
            listed.append(each.path)
        else:
            raise PublicationError(said("taken", page=pages_folder(config) / each.path))
    paths = [path for path in listed if path not in by_author]
    config.nav = [*navigation(paths, titles), *(config.nav or [])]
    return drawings


def navigation(paths: Sequence[str], titles: Mapping[str, str]) -> list[NavItem]:
    """One entry for each page at the top, one section for each folder (a term)."""
    items: list[NavItem] = []
    sections: dict[str, list[NavItem]] = {}
    for path in paths:
        folder, _, below = path.partition("/")
        if below and folder not in sections:
            sections[folder] = []
            items.append({titles.get(posixpath.join(folder, "index.md"), folder): sections[folder]})
        titled: NavItem = {titles[path]: path} if path in titles else path
        (sections[folder] if below else items).append(titled)
    return items


def wrong_in_navigation(
    files: Files, config: MkDocsConfig, also: Collection[str] = ()
) -> Iterator[str]:
    """The pages that nav doesn't list, and the entries of nav that lead to no page, unless the
    settings let that pass; once the course's own pages are in both, or ``also`` names them. Pages
    in place of general ones of the program's are listed as these are.
    """
    listed, folder, settings = _listed(config), pages_folder(config), settings_of(config)
    known = (*listed, *also, *(f"{name}.md" for name in GENERAL))
    if config.validation.nav.omitted_files >= logging.WARNING:
        for page in files.documentation_pages():
            shown = page.inclusion.value > InclusionLevel.NOT_IN_NAV.value
            if shown and page.src_uri not in known:
                place = Place(file=str(folder / page.src_uri))
                yield said("not-in-nav", place=place, page=page.src_uri, settings=settings)
    if config.validation.nav.not_found >= logging.WARNING:
        for path in listed:
            if path not in also and files.get_file_from_path(path) is None:
                place = place_of(settings, path, below="nav:")
                yield said("nav-to-nothing", place=place, path=path, folder=folder)


# ---- addresses


def there(site: Path, pages: Iterable[Page]) -> Callable[[str], bool]:
    """Gives whether a built site has a file at an address, with the place in it that is meant."""
    ids = {page.file.dest_uri: page.present_anchor_ids or set() for page in pages}
    stands = cache(lambda page: (site / page).is_file())

    def has(address: str) -> bool:
        page, _, anchor = address.partition("#")
        if anchor and page not in ids and stands(page):  # written in HTML as a whole
            ids[page] = {*_Ids((site / page).read_text("utf-8")).tags}
        return stands(page) and (not anchor or anchor in ids.get(page, ()))

    return has


def given_out(pages: Iterable[Page], own: Collection[str]) -> Iterator[str]:
    """The addresses of the pages named and of their headings below the title, however these were
    written; nobody is given that of the page which a server shows for wrong ones.
    """
    for page in pages:
        address = page.file.dest_uri
        if address in own and address != _FOR_WRONG_ONES:
            tags = _Ids(page.content or "").tags
            yield from (address, *(f"{address}#{id_}" for id_ in tags if tags[id_] in _HEADINGS))


class _Ids(PageParser):
    """The ids in a page's HTML, each with the element that has it."""

    def __init__(self, page: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: dict[str, str] = {}
        self.feed(page)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags |= {value: tag for name, value in attrs if name == "id" and value}


# ---- the author's own


def own_files(files: Files, config: MkDocsConfig, *, drafts: bool) -> dict[str, Path]:
    """What somebody put into the site, pages too: address -> file; ``drafts``: those as well."""
    least = InclusionLevel.DRAFT if drafts else InclusionLevel.NOT_IN_NAV
    return {
        file.dest_uri: pages_folder(config) / file.src_uri
        for file in files
        if file.src_dir == config.docs_dir and file.inclusion.value >= least.value
    }


def theme_files(config: MkDocsConfig) -> dict[str, Path]:
    """The author's own changes of the theme, by their paths in it."""
    if not config.theme.custom_dir:
        return {}
    folder = from_here(Path(config.theme.custom_dir))
    found = sorted(path for path in folder.rglob("*") if not path.is_dir())
    return {path.relative_to(folder).as_posix(): path for path in found}


def require_readable(paths: Iterable[Path]) -> None:
    """Raise ``PublicationError`` for what is no file, and for texts and names not in UTF-8."""
    problems = []
    for path in paths:
        name = os.fsencode(path).decode(errors="replace")
        if "\n" in path.name or name != str(path):
            problems.append(f"{name}: {said('name-unreadable')}")
        elif not path.is_file():
            problems.append(f"{name}: {said('not-regular')}")
        elif is_markdown_file(path.name) or path.suffix.lower() in _TEXTS:
            try:
                path.read_text("utf-8")
            except UnicodeDecodeError as error:
                byte = f"0x{error.object[error.start]:02X}"
                problems.append(f"{name}: {said('not-utf-8', byte=byte)}")
    require(problems)


def declared(course: Course, path: str) -> bool:
    """Whether the course declares the file; ``path`` from the folder of the pages on."""
    return any(fnmatchcase(path, pattern) for pattern in course.attachments)


def opens(course: Course, path: str) -> datetime | None:
    """From when on students may have it, by the last of the patterns that name it; None: always."""
    dated = {pattern: at for pattern, at in course.attachments.items() if at}
    return max((at for each, at in dated.items() if fnmatchcase(path, each)), default=None)


def undeclared(course: Course, file: Path, files: Mapping[str, Path]) -> list[str]:
    """What is no text and isn't declared, and patterns that name nothing, with their places.

    ``file``: the course's own, as messages name it; ``files``: path from the folder on -> file.
    """
    found = [
        said("no-such-attachment", place=course.places[f"attachments.{each}"], pattern=each)
        for each in course.attachments
        if not any(fnmatchcase(path, each) for path in files)
    ]
    unread = {
        path: str(PurePosixPath(path).parent)
        for path, each in files.items()
        if not declared(course, path) and text_of(each.read_bytes()) is None
    }
    if unread:  # several of a folder are declared by the folder's name
        found += [said("no-text", file=files[path]) for path in unread]
        counts = Counter(folder for folder in unread.values() if folder != ".")
        named = (f"{at}/*" if counts[at] > 1 else path for path, at in unread.items())
        always = ", ".join(f"{each}: always" for each in dict.fromkeys(named))
        found.append(said("attachments", file=file, named=always))
    return found
