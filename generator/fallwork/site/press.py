"""The course's pages as HTML: each made wholly and let go of, in as many processes as there are
processors; one that is kept from an earlier build isn't made again.

Takes the course's files, MkDocs' settings, environment and navigation; writes pages into the site
and gives what has to be known of each: its anchors, where it leads, what can be found on it. The
docs builder would hold all pages in memory at once. To it they are files that are there already, to
which links lead.
"""

import json
import logging
import os
import re
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import asdict, dataclass
from importlib.metadata import distributions
from itertools import chain
from pathlib import Path
from typing import Any

from jinja2 import Environment
from mkdocs.commands.build import get_context
from mkdocs.config.defaults import MkDocsConfig
from mkdocs.structure.files import File, Files, InclusionLevel
from mkdocs.structure.nav import Navigation
from mkdocs.structure.pages import Page
from mkdocs.utils import write_file
from mkdocs.utils.meta import get_data
from mkdocs.utils.yaml import yaml_load

from fallwork.once import digest, for_each, keep, kept
from fallwork.pages.made import Listed
from fallwork.site.audit import Told, told_by
from fallwork.site.files import theme_files
from fallwork.site.look import sections
from fallwork.site.markup import CurrentPage

_HEADING = re.compile(r'<h[2-6][^>]* id="([^"]+)"')
_LOG = logging.getLogger("mkdocs")


@dataclass
class Facts:
    """What has to be known of a page once it is made."""

    anchors: list[str]
    links: dict[str, dict[str, str]]  # source of a page -> anchor there -> as written
    told: Told  # of others, for the audit
    found: list[list[str]]  # what can be searched of a page of no lab
    headings: list[str]  # ids


def _facts(data: dict[str, Any]) -> Facts:
    return Facts(**{**data, "told": Told(*data["told"])})


class CoursePage(File):
    """A page of the course, which isn't the docs builder's to make."""

    def __init__(self, listed: Listed, config: MkDocsConfig) -> None:
        path = listed.path.removesuffix(".md")
        super().__init__(
            listed.path, None, config.site_dir, config.use_directory_urls, dest_uri=f"{path}.html"
        )
        self.listed = listed
        self.generated_by = "fallwork"
        in_nav = listed.front.get("nav") is True
        self.inclusion = InclusionLevel.INCLUDED if in_nav else InclusionLevel.NOT_IN_NAV
        self.key, self.facts = "", Facts([], {}, Told([], []), [], [])

    def is_documentation_page(self) -> bool:
        """Whether the docs builder makes it."""
        return False

    def copy_file(self, dirty: bool = False) -> None:
        """It stands in the site already."""


class Press:
    """Makes the pages of one build."""

    nav: Navigation  # once it is known

    def __init__(
        self, config: MkDocsConfig, files: Files, current: CurrentPage, standing: Path | None
    ) -> None:
        """``standing``: the site whose place this one takes."""
        self._config, self._files, self._current = config, files, current
        self._standing = standing
        self.pages = [file for file in files if isinstance(file, CoursePage)]

    def run(self, env: Environment) -> None:
        """Write all pages; raises what stops one of them."""
        self._env = env
        shared = self._shared()
        for file in self.pages:
            file.key = digest(file.listed.key, shared)
        todo = [file for file in self.pages if not self._is_kept(file)]
        first = [self._made(file) for file in todo[:1]]  # compiles the theme's templates for all
        every = chain(first, for_each(self._made, todo[1:], "pages"))
        for file, (facts, told) in zip(todo, every, strict=True):
            file.facts = _facts(facts)
            for level, message in told:
                _LOG.log(level, message)
        self._follow_links()

    def _follow_links(self) -> None:
        """See that links between pages lead somewhere, as the docs builder does with its own."""
        pages = [(file, file.page or Page(None, file, self._config)) for file in self.pages]
        for file, page in pages:
            page.meta = dict(file.listed.front)
            page.present_anchor_ids = {*file.facts.anchors}
        level = self._config.validation.links.anchors
        for file, page in pages:
            named = file.facts.links.items()
            found = ((self._files.get_file_from_path(path), anchors) for path, anchors in named)
            page.links_to_anchors = {to: anchors for to, anchors in found if to is not None}
            page.validate_anchor_links(files=self._files, log_level=level)

    def given_out(self, names: Iterable[str]) -> Iterator[str]:
        """The addresses of these pages, e.g. ``safety``, and of their headings below the title."""
        for file in (file for file in self.pages if file.src_uri.removesuffix(".md") in names):
            at = file.dest_uri
            yield from (at, *(f"{at}#{id_}" for id_ in file.facts.headings))

    def _shared(self) -> str:
        """A digest of what every page is made of besides its own."""
        config = self._config
        said = (config.site_name, config.site_url, config.copyright, repr(config.extra))
        with Path(config.config_file_path).open("rb") as file:
            settings = repr(yaml_load(file))
        files = theme_files(config)
        own = {at: path.read_bytes() for at, path in files.items()}
        hooks = [Path(path).read_bytes() for path in config.hooks]
        others = {*config.plugins} - {"fallwork"}
        versions = sorted((e.name, e.version) for e in distributions()) if others else []
        return digest(said, settings, own, hooks, versions, self._current.to_come, str(self.nav))

    def _is_kept(self, file: CoursePage) -> bool:
        """Whether it could be put in its place as it was made before."""
        there = kept(file.key)
        if there is None:
            return False
        facts, _, content = there.partition(b"\n")
        if not self._stands(file, content):
            write_file(content, file.abs_dest_path)
        file.facts = _facts(json.loads(facts))
        return True

    def _stands(self, file: CoursePage, content: bytes) -> bool:
        """Whether the site that stands has this very page, so that it can be in both."""
        if self._standing is None:
            return False
        old, new = self._standing / file.dest_uri, Path(file.abs_dest_path)
        with suppress(OSError):
            if old.read_bytes() == content:
                new.parent.mkdir(parents=True, exist_ok=True)
                os.link(old, new)
        return new.exists()

    def _made(self, file: CoursePage) -> tuple[dict[str, Any], list[tuple[int, str]]]:
        """Write a page; gives its facts as data, and what is to be said of it."""
        with _messages() as told, self._current.alone():
            output, facts = self._output(file)
        write_file(output, file.abs_dest_path)
        if not told:
            data = json.dumps(asdict(facts), ensure_ascii=False)
            keep(file.key, f"{data}\n".encode() + output)
        return asdict(facts), told

    def _output(self, file: CoursePage) -> tuple[bytes, Facts]:
        config, files, nav = self._config, self._files, self.nav
        page, plugins = file.page or Page(None, file, config), config.plugins
        whole = file.listed.load()
        body, meta = (whole.body, dict(whole.front)) if whole.front else get_data(whole.body)
        page.meta = meta
        page.markdown = plugins.on_page_markdown(body, page=page, config=config, files=files)
        page.render(config, files)
        content = plugins.on_page_content(page.content or "", page=page, config=config, files=files)
        page.content, page.active = content, True
        template = self._env.get_template(str(page.meta.get("template", "main.html")))
        context = get_context(nav, [], config, page)
        context = plugins.on_page_context(context, page=page, config=config, nav=nav)
        output = plugins.on_post_page(template.render(context), page=page, config=config)
        facts = Facts(
            anchors=sorted(page.present_anchor_ids or ()),
            links={to.src_uri: anchors for to, anchors in (page.links_to_anchors or {}).items()},
            told=told_by(file.dest_uri, output),
            found=sections(page, content),
            headings=_HEADING.findall(content),
        )
        page.active, page.content, page.markdown = False, None, None  # let go of
        return output.encode("utf-8", "xmlcharrefreplace"), facts


@contextmanager
def _messages() -> Iterator[list[tuple[int, str]]]:
    """What the docs builder has to say meanwhile, which the first process will."""
    found: list[tuple[int, str]] = []
    collector, before = logging.Handler(level=logging.WARNING), (_LOG.handlers, _LOG.propagate)
    collector.emit = lambda record: found.append((record.levelno, record.getMessage()))  # type: ignore[method-assign]
    _LOG.handlers, _LOG.propagate = [collector], False
    try:
        yield found
    finally:
        _LOG.handlers, _LOG.propagate = before
