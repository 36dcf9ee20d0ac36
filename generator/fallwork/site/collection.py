"""Pages and drawings into MkDocs' collection of files, and the short navigation.

Takes the page files; gives the drawings by path. Files of other kinds go into the site as they
are. Sub-pages stay out of the global navigation, which MkDocs repeats on every page: they are
reached by links.
"""

import html
import posixpath
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from mkdocs.config.defaults import MkDocsConfig
from mkdocs.structure.files import File, Files, InclusionLevel
from mkdocs.utils.meta import get_data

from fallwork.pages import PageFile
from fallwork.scenario import from_here
from fallwork.site.errors import PageError

NavItem = str | dict[str, Any]  # as in mkdocs.yml


def add(pages: Sequence[PageFile], files: Files, config: MkDocsConfig) -> Mapping[str, str]:
    """Add the pages to ``files``, set ``config.nav``, and give the drawings (path -> SVG)."""
    written = [page for page in pages if page.path.endswith(".md")]
    titles = {page.path: _title(page) for page in written}
    listed = [page.path for page in written if _front_matter(page).get("nav") is True]
    for page in written:
        if files.get_file_from_path(page.path) is not None:
            raise PageError(
                page=f"{from_here(Path(config.docs_dir)) / page.path}:1:1",
                found="a page of your own where a page of the course belongs",
                expected="give yours another name",
            )
        level = InclusionLevel.INCLUDED if page.path in listed else InclusionLevel.NOT_IN_NAV
        files.append(File.generated(config, page.path, content=page.content, inclusion=level))
    for page in pages:
        if not page.path.endswith((".md", ".svg")):
            files.append(File.generated(config, page.path, content=page.content))
    config.nav = [*navigation(listed, titles), *(config.nav or [])]
    return {page.path: page.content for page in pages if page.path.endswith(".svg")}


def navigation(paths: Sequence[str], titles: Mapping[str, str]) -> list[NavItem]:
    """One entry for each page at the top, one section for each folder (a term)."""
    items: list[NavItem] = []
    sections: dict[str, list[NavItem]] = {}
    for path in paths:
        folder, _, below = path.partition("/")
        if not below:
            items.append({titles[path]: path})
            continue
        if folder not in sections:
            sections[folder] = []
            items.append({titles.get(posixpath.join(folder, "index.md"), folder): sections[folder]})
        sections[folder].append({titles[path]: path})
    return items


def _title(page: PageFile) -> str:
    """For the theme, which writes it into its pages as it is."""
    return html.escape(str(_front_matter(page).get("title", page.path)))


def _front_matter(page: PageFile) -> Mapping[str, Any]:
    return get_data(page.content)[1]
