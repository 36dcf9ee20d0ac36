"""What is wrong with pages of the author's own and with the settings of the docs builder.

Takes MkDocs' collection of files and its settings, or one of its warnings; gives sentences with
file and line, and what would be right.
"""

import logging
import os
import re
from collections.abc import Iterable, Iterator
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import yaml
from mkdocs.config.config_options import PathSpec
from mkdocs.config.defaults import MkDocsConfig
from mkdocs.structure.files import Files, InclusionLevel
from mkdocs.utils import is_markdown_file

from fallwork.errors import Place, Problem
from fallwork.pages import GENERAL
from fallwork.scenario import from_here
from fallwork.scenario.course import site_url
from fallwork.scenario.report import Refusal, meant
from fallwork.scenario.tree import explain
from fallwork.site.errors import PublicationError, said

_LINK = re.compile(r"Doc file '([^']+)' contains a link '([^']+)', but .*")
_SETTING = re.compile("Config value '([^']+)': (.*)", re.DOTALL)
_TEXTS = (".html", ".htm", ".xhtml", ".svg", ".css", ".js", ".mjs")  # and Markdown
_FOR_SERVERS = "!/.nojekyll\n!/.htaccess\n!/.domains\n!/.well-known/"
_SCHEME = re.compile(r"[a-z][a-z0-9+.-]*:|//")


class PageParser(HTMLParser):
    """A reader of HTML that takes ``<![`` as browsers do: for a comment up to the next bracket."""

    def parse_marked_section(self, i: int, report: bool = True) -> int:
        """Where it ends; -1 where it doesn't."""
        return self.parse_bogus_comment(i, report)


def require(problems: Iterable[str]) -> None:
    """Raise ``PublicationError`` with all problems, if there are any."""
    if told := "\n".join(problems):
        raise PublicationError(told)


# ---- the settings


def settings_of(config: MkDocsConfig) -> Path:
    """The file of the settings, as messages name it."""
    return from_here(Path(config.config_file_path))


def pages_folder(config: MkDocsConfig) -> Path:
    """The folder of the hand-written pages, as messages name it."""
    return from_here(Path(config.docs_dir))


def site_address(config: MkDocsConfig) -> str | None:
    """Where the site stands, as the settings say; raises as the course's own file does."""
    if config.site_url is not None:
        try:
            site_url(config.site_url)
        except Refusal as error:
            place = place_of(settings_of(config), "site_url")
            raise PublicationError(f"{place}: {error}") from error
    return config.site_url


def prepare(config: MkDocsConfig) -> None:
    """Raise ``PublicationError`` for the setting with which no page is where links lead; let
    through, of the hidden files that are kept out of the site, those that web servers ask for.
    """
    if config.use_directory_urls:
        place = place_of(settings_of(config), "use_directory_urls")
        raise PublicationError(said("directories", place=place))
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


def listed(config: MkDocsConfig) -> list[str]:
    """The pages to which nav leads, links to other sites left out."""
    return [to for _, to in _entries(config.nav) if to and not _SCHEME.match(to)]


def setting_in_words(message: str, file: Path) -> str:
    """What the docs builder says of a value in its settings, with the place."""
    found = _SETTING.fullmatch(message)
    if found is None:
        return f"{from_here(file)}: {message}"
    quoted = re.findall(r"""['"]([^'"]+)['"]""", found[2])
    text = file.read_text("utf-8")
    about = next((each for each in quoted if each in text), found[1])
    words = " ".join(found[2].split()).rstrip(".")
    return f"{place_of(from_here(file), about)}: {found[1]}: {words}; correct it there"


def unreadable_settings(error: Exception, file: Path) -> str:
    """Why the settings of the docs builder can't be read, with the place where it is known."""
    reason = error.__cause__ or error.__context__
    if not isinstance(reason, yaml.MarkedYAMLError):
        return f"{from_here(file)}: {error}"
    mark, (found, expected) = explain(reason)
    place = Place(file=str(from_here(file)), line=mark.line + 1, column=mark.column + 1)
    return f"{place}: {found}; {expected}"


# ---- pages and other files


def check_navigation(files: Files, config: MkDocsConfig) -> None:
    """Raise ``PublicationError`` for pages that nav doesn't list, and for entries of nav that lead
    to no page; once the course's own pages are in both.
    """
    problems, settings = [str(each) for each in unlisted(files, config)], settings_of(config)
    if config.validation.nav.not_found >= logging.WARNING:
        for path in (each for each in listed(config) if files.get_file_from_path(each) is None):
            place = place_of(settings, path, below="nav:")
            told = {"place": place, "path": path, "folder": pages_folder(config)}
            problems.append(said("nav-to-nothing", **told))
    require(problems)


def unlisted(files: Files, config: MkDocsConfig) -> Iterator[Problem]:
    """The pages that nav doesn't list, unless the settings let that pass; those that stand in place
    of a page of the program's own are listed as that is.
    """
    known = (*listed(config), *(f"{name}.md" for name in GENERAL))
    if config.validation.nav.omitted_files < logging.WARNING:
        return
    for page in files.documentation_pages():
        if page.src_uri not in known and page.inclusion.value > InclusionLevel.NOT_IN_NAV.value:
            yield Problem(
                place=Place(file=str(pages_folder(config) / page.src_uri), line=1, column=1),
                found=f"a page to which nav in {settings_of(config)} doesn't lead",
                expected=f"add `- {page.src_uri}` below nav or, where links are enough, write "
                f"`not_in_nav: {page.src_uri}`",
            )


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
    found = ((os.fsencode(path).decode(errors="replace"), _unreadable(path)) for path in paths)
    require(f"{name}: {why}" for name, why in found if why)


def _unreadable(path: Path) -> str:
    if "\n" in path.name or os.fsencode(path).decode(errors="replace") != str(path):
        return said("name-unreadable")
    if not path.is_file():
        return said("not-regular")
    if is_markdown_file(path.name) or path.suffix.lower() in _TEXTS:
        try:
            path.read_text("utf-8")
        except UnicodeDecodeError as error:
            return said("not-utf-8", byte=f"0x{error.object[error.start]:02X}")
    return ""


def in_words(warning: str, config: MkDocsConfig) -> str:
    """A warning of the docs builder; with its place and a remedy, where it is about a link."""
    found, folder = _LINK.fullmatch(warning), pages_folder(config)
    if found is None or not (file := folder / found[1]).is_file():
        return warning
    known = [os.path.relpath(path, file.parent) for path in sorted(folder.rglob("*.md"))]
    hint = meant(found[2], known, "correct it, or take it out")
    return said("link-to-nothing", place=place_of(file, found[2]), link=found[2], hint=hint)


def place_of(file: Path, text: str, below: str = "") -> Place:
    """Where a text stands in a file first, ``below`` a line; its beginning where it doesn't."""
    lines = file.read_text("utf-8").splitlines() if file.is_file() else []
    start = next((n for n, line in enumerate(lines) if below and line.startswith(below)), 0)
    for number, line in enumerate(lines, start=1):
        if number > start and text in line:
            return Place(file=str(file), line=number, column=line.index(text) + 1)
    return Place(file=str(file), line=1, column=1)
