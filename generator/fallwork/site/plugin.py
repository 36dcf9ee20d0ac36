"""The MkDocs plugin: hooks only; the work stands in the modules beside it.

Takes the course's files; adds their pages to the site in memory, sets formulas and drawings,
brings the style and the fonts along.
"""

import html
import logging
import shutil
from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path
from typing import Literal

from jinja2 import Environment
from mkdocs.config import config_options
from mkdocs.config.base import Config
from mkdocs.config.defaults import MkDocsConfig
from mkdocs.exceptions import PluginError
from mkdocs.livereload import LiveReloadServer
from mkdocs.plugins import BasePlugin, event_priority
from mkdocs.structure.files import Files
from mkdocs.structure.pages import Page
from mkdocs.utils import CountHandler

from fallwork.errors import FallworkError, Place
from fallwork.mechanics.course import gravity_of
from fallwork.pages import Address, HeldBack, Known, build_pages, held_back, open_records, written
from fallwork.pages import addresses as course_addresses
from fallwork.pages.schedule import in_words
from fallwork.scenario import PUBLISHED, CourseData, from_here, load_course
from fallwork.scenario.dates import iso_moment
from fallwork.scenario.load import COURSE_FILE
from fallwork.site import addresses, collection, description, folder, look, recording
from fallwork.site.attachments import Attachments
from fallwork.site.audit import Audit, AuditError, Finding
from fallwork.site.audit_site import copies_of, look_through
from fallwork.site.elsewhere import require_file_fetches_nothing, require_nothing_fetched
from fallwork.site.errors import PublicationError, said
from fallwork.site.handwritten import (
    check_navigation,
    let_through,
    own_files,
    own_words,
    require_html_addresses,
    require_readable,
    site_address,
    theme_files,
)
from fallwork.site.markup import CurrentPage

_STUDENT = "student"
_TEXTS = config_options.ListOfItems(config_options.Type(str))


class FallworkConfig(Config):  # type: ignore[no-untyped-call]  # MkDocs has no hint there
    """What mkdocs.yml may say under ``fallwork``."""

    site_data = config_options.Dir(exists=True, default="site-data")
    edition = config_options.Choice(("student", "staff"), default="student")
    as_of = config_options.Optional(config_options.Type(str))  # ISO 8601; the course's own time
    # Numbers, by the file that holds them, that look like answers and are none.
    harmless = config_options.DictOfItems(_TEXTS, default={})
    elsewhere = config_options.Optional(_TEXTS)  # beginnings of addresses that pages may fetch from


class FallworkPlugin(BasePlugin[FallworkConfig]):  # type: ignore[no-untyped-call]  # as above
    """Pages of the course in ``site_data``, as they stand at one moment."""

    data: CourseData
    current: CurrentPage
    target: Path | None = None  # where the site will stand; None: where the settings say
    moment: datetime | None = None  # that the site shows; None: as the settings say, or now
    recording: bool = False  # whether what is published goes on record
    given_out: tuple[str, ...] = ()  # the addresses of the site that was built
    newly_recorded: tuple[str, ...] = ()  # labs whose record is new or changed
    _command: str = "build"
    _fresh: Path | None = None  # the folder aside in which the site is built
    _by_hand: tuple[str, ...] = ()  # addresses of the pages in docs_dir
    _described: list[description.Described]
    _words: tuple[tuple[Place | str, str], ...]  # what the settings say on pages
    _held: tuple[HeldBack, ...]  # what students don't have yet
    _audit: Audit | None = None  # of what people wrote; None: nobody but its author will read it
    _found: list[Finding]
    _sources: dict[str, Path]  # the author's own files, by their addresses
    _later: dict[str, Path]  # those that students don't have yet
    _attachments: Attachments
    _known: Known  # lessons that were worked out for this build

    def on_startup(self, *, command: Literal["build", "gh-deploy", "serve"], dirty: bool) -> None:
        """Remember what is being done: a preview needs no folder aside and is no publication."""
        self._command = command
        if command == "gh-deploy" and self.config.edition != _STUDENT:
            raise PluginError("the staff edition holds the answers; it is not for the open web")

    def on_config(self, config: MkDocsConfig) -> MkDocsConfig:
        """Read the course; lay out the site after it; go aside to build."""
        require_html_addresses(config)
        root = from_here(Path(self.config.site_data))
        if self._command != "serve":
            folder.put_right(root / PUBLISHED, Path(config.site_dir))
        self.data = load_course(root)
        self.current = CurrentPage()
        self._described, self.given_out, self._known, self._later = [], (), {}, {}
        self.newly_recorded = ()
        self._words, self._found = tuple(own_words(config)), []
        self._attachments = Attachments(self.data.course, root / COURSE_FILE)
        let_through(config)
        config.site_name = html.escape(self.data.course.title)
        config.site_url = site_address(config) or self.data.course.url or None
        config.copyright = config.copyright or look.whom_to_ask(self.data.course.contact)
        config.extra["fw_staff"] = self.config.edition != _STUDENT
        look.furnish(config, self.current)
        self._default = config.site_dir
        self._now = self.moment or self._moment()
        self._audit = None
        if self._command != "serve":
            self._go_aside(config)
            if self.config.edition == _STUDENT:
                self._held = held_back(self.data, self._now)
                self._audit = Audit(
                    self._held,
                    gravity=gravity_of(self.data.course),
                    root=Path(config.config_file_path).parent,
                    harmless=self.config.harmless,
                )
        return config

    def on_files(self, files: Files, *, config: MkDocsConfig) -> Files:
        """Add the pages that are open, the look, and the short navigation."""
        self._by_hand = tuple(file.dest_uri for file in files.documentation_pages())
        self._sources = own_files(files, config, drafts=self._command == "serve")
        theme = theme_files(config)
        require_readable((*self._sources.values(), *theme.values()))
        self._hold_back(files, config)
        copied = {name: path for name, path in self._sources.items() if name not in self._by_hand}
        if self._command != "serve":  # whoever is still writing a page wants to see it
            self._read_own({**theme, **copied})
        edition = self.config.edition
        pages = build_pages(self.data, now=self._now, edition=edition, known=self._known)
        self.current.drawings = collection.add(pages, files, config)
        if self._command != "serve":
            check_navigation(files, config)
        look.add_assets(files, config)
        return files

    def on_page_markdown(
        self, markdown: str, *, page: Page, config: MkDocsConfig, files: Files
    ) -> str:
        """Tell the Markdown extension which page comes now."""
        self.current.path = page.file.src_uri
        self.current.file = self._sources.get(page.file.dest_uri)
        self.current.to_send = not page.meta.get("staff_only")
        self._described.append(description.describe(page, self.data))
        look.escape_titles(page)
        return markdown

    @event_priority(-100)  # after whatever else puts something into a page
    def on_page_content(self, html: str, *, page: Page, config: MkDocsConfig, files: Files) -> str:
        """Read what a page of somebody's own says, wherever it came from."""
        if self._audit is not None and page.file.dest_uri in self._by_hand:
            named = from_here(Path(config.docs_dir)) / page.file.src_uri
            source = self._sources.get(page.file.dest_uri, named)
            said = "".join(f"<p>{value}</p>" for value in page.meta.values())
            self._found += self._audit.of_page(source, said + html)
        return html

    def on_env(self, env: Environment, *, config: MkDocsConfig, files: Files) -> Environment:
        """All pages have been read: stop where they tell something."""
        if self._found:
            raise AuditError(self._found, self.config.harmless)
        env.bytecode_cache = look.COMPILED
        return env

    def on_post_page(self, output: str, *, page: Page, config: MkDocsConfig) -> str:
        """Mend what the theme leaves out; see that a page of somebody's own fetches nothing."""
        if self._command != "serve" and page.file.dest_uri in (*self._by_hand, "index.html"):
            settings = from_here(Path(config.config_file_path))
            source = self._sources.get(page.file.dest_uri, settings)
            require_nothing_fetched(output, (source, settings), self.config.elsewhere or ())
        return look.name_parts(output)

    @event_priority(-100)  # after the search index is written
    def on_post_build(self, *, config: MkDocsConfig) -> None:
        """Complete the site, see that it may be published, and put it in its place."""
        site = Path(config.site_dir)
        look.write_script(site)
        description.write_sitemap(site, config.site_url, self._described)
        if self._fresh is None or self.target is None:
            return
        if _warned():
            return  # the builder stops next, because the settings are strict
        on_record: tuple[addresses.Batch, ...] = ()
        if self.config.edition == _STUDENT:
            given = course_addresses(self.data, self._now, known=self._known)
            released = tuple(open_records(self.data, self._now))
            findings = tuple(
                look_through(
                    site,
                    held=self._held,
                    steps={one.text for one in given if one.anchor},
                    copies=copies_of(self.data.root, released),
                    sources=self._sources,
                    packaged=look.packaged(config),
                    declared=self._attachments.declared,
                )
            )
            if findings:
                raise AuditError(findings)
            on_record = self._require_no_address_lost(site, given)
        self._put_in_place(site, on_record)
        self._fresh = None
        config.site_dir = str(self.target)

    def _put_in_place(self, site: Path, on_record: tuple[addresses.Batch, ...]) -> None:
        """The record and the site, both or neither; the record first."""
        assert self._fresh is not None
        assert self.target is not None
        edition = self.config.edition
        if not self.recording:
            folder.mark(site, edition, folder.noted(self.target))
            folder.swap_in((self._fresh, self.target))
            return
        record = recording.fresh_record(self.data, self._now, on_record, self.given_out)
        folder.mark(site, edition, record.noted)
        folder.swap_in(*record.swap, (self._fresh, self.target))
        self.newly_recorded = record.labs

    def on_build_error(self, *, error: Exception) -> None:
        """A mistake in the course's files is told in a sentence, without a traceback."""
        if isinstance(error, FallworkError):
            raise PluginError(str(error)) from error

    def on_shutdown(self) -> None:
        """Whatever happened: leave nothing half-built behind, and forget what was asked for.

        MkDocs uses the same object again for the next build of a process.
        """
        if self._fresh is not None:
            shutil.rmtree(self._fresh, ignore_errors=True)
        self._fresh = self.target = self.moment = None
        self.recording = False

    def _go_aside(self, config: MkDocsConfig) -> None:
        if self.target is None:
            self.target = folder.of_edition(Path(config.site_dir), self.config.edition).resolve()
            if self._now > datetime.now(UTC) and self.config.edition == _STUDENT:
                raise to_come(self._now, self.target)
        self._require_apart(config, self.target)
        folder.require_ours(self.target, self.config.edition)
        self._fresh = folder.new_beside(self.target)
        config.site_dir = str(self._fresh)

    def _require_apart(self, config: MkDocsConfig, target: Path) -> None:
        """No site in or around another, nor among the files from which it is made."""
        students = Path(self._default).resolve()
        sources = (Path(config.docs_dir).resolve(), self.data.root.resolve())
        kept = {students: "what students see", **dict.fromkeys(sources, "the course's own files")}
        for place, what in kept.items():
            within = target.is_relative_to(place) or place.is_relative_to(target)
            if within and not target == place == students:
                told = {"site": target, "place": place, "what": what}
                raise PublicationError(said("one-in-the-other", **told))

    def _hold_back(self, files: Files, config: MkDocsConfig) -> None:
        """Take out the attachments that students don't have yet; links to them say when."""
        beside = (path for path in self._sources if path not in self._by_hand)
        moments = {path: self._attachments.opens(path) for path in beside}
        to_come = {path: at for path, at in moments.items() if at and at > self._now}
        if self.config.edition == _STUDENT:
            zone = self.data.course.zone
            self.current.to_come = {path: in_words(at, zone) for path, at in to_come.items()}
            for file in [file for file in files if file.dest_uri in to_come]:
                files.remove(file)
                self._later[file.dest_uri] = self._sources.pop(file.dest_uri)

    def _read_own(self, files: Mapping[str, Path]) -> None:
        """See that what people wrote fetches nothing and tells students nothing early; their pages
        are read once they are built.
        """
        for path in files.values():
            require_file_fetches_nothing(path, self.config.elsewhere or ())
        if self._audit is None:
            return
        problems = self._attachments.problems({**files, **self._later})
        if problems:
            raise PublicationError("\n".join(problems))
        for place, text in (*written(self.data, self._now), *self._words):
            self._found += self._audit.of_text(place, text)
        for path in files.values():
            self._found += self._audit.of_file(path, path.read_bytes())

    def _require_no_address_lost(
        self, folder_aside: Path, given: tuple[Address, ...]
    ) -> tuple[addresses.Batch, ...]:
        """The record as it stands."""
        site = addresses.Site(folder_aside)
        assert self.target is not None
        default = self.target == Path(self._default).resolve()
        least = folder.recorded(self.target) if default else 0
        record = addresses.read_record(self.data, least=least)
        course = tuple(one.text for one in given)
        addresses.check(site, record, moment=self._now, for_students=default, also=course)
        self.given_out = (*course, *site.given_out(self._by_hand))
        return record

    def on_serve(
        self, server: LiveReloadServer, *, config: MkDocsConfig, builder: object
    ) -> LiveReloadServer:
        """Rebuild the preview when the course's files change."""
        server.watch(self.config.site_data)
        return server

    def _moment(self) -> datetime:
        if self.config.as_of is None:
            return datetime.now(UTC)
        try:
            return iso_moment(self.config.as_of, self.data.course.zone)
        except ValueError as error:
            told = said("no-moment", text=repr(self.config.as_of))
            raise PublicationError(told) from error


def to_come(moment: datetime, default: Path) -> PublicationError:
    """Why a moment isn't published where the students look."""
    return PublicationError(said("to-come", moment=moment.isoformat(), site=default))


def _warned() -> bool:
    """Whether the builder counts warnings, because the settings are strict, and has some."""
    handlers = logging.getLogger("mkdocs").handlers
    return any(isinstance(one, CountHandler) and one.get_counts() for one in handlers)
