"""Pages and drawings into MkDocs' collection of files, and the short navigation.

Takes the page files; gives the drawings by path. Files of other kinds go into the site as they
are. Sub-pages stay out of the global navigation, which MkDocs repeats on every page: they are
reached by links.
"""

import html
import posixpath
from collections.abc import Mapping, Sequence
from typing import Any

from mkdocs.config.defaults import MkDocsConfig
from mkdocs.structure.files import File, Files, InclusionLevel
from mkdocs.utils.meta import get_data

from fallwork.pages import GENERAL, PageFile
from fallwork.site import handwritten
from fallwork.site.errors import PublicationError, said

NavItem = str | dict[str, Any]  # as in mkdocs.yml


def add(pages: Sequence[PageFile], files: Files, config: MkDocsConfig) -> Mapping[str, str]:
    """Add the pages to ``files``, set ``config.nav``, and give the drawings (path -> SVG).

    A page of the author's own takes the place of a general one, in the navigation too unless
    theirs leads to it.
    """
    titles, listed, by_author = dict[str, str](), list[str](), handwritten.listed(config)
    for page in (page for page in pages if not page.path.endswith(".svg")):
        level = InclusionLevel.UNDEFINED
        if page.path.endswith(".md"):
            if files.get_file_from_path(page.path) is not None:
                if page.path.removesuffix(".md") not in GENERAL:
                    taken = handwritten.pages_folder(config) / page.path
                    raise PublicationError(said("taken", page=taken))
                listed.append(page.path)
                continue
            front = get_data(page.content)[1]
            # For the theme, which writes it into its pages as it is.
            titles[page.path] = html.escape(str(front.get("title", page.path)))
            level = InclusionLevel.NOT_IN_NAV
            if front.get("nav") is True:
                listed.append(page.path)
                level = InclusionLevel.INCLUDED
        files.append(File.generated(config, page.path, content=page.content, inclusion=level))
    paths = [path for path in listed if path not in by_author]
    config.nav = [*navigation(paths, titles), *(config.nav or [])]
    return {page.path: page.content for page in pages if page.path.endswith(".svg")}


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
