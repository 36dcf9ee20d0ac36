"""The MkDocs plugin: hooks only; the work stands in the modules beside it.

Takes the course's files; adds their pages to the site in memory, sets formulas and drawings,
brings the style and the fonts along.
"""

import html
import logging
import shutil
from collections.abc import Mapping, Sequence
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
from mkdocs.utils.templates import TemplateContext

from fallwork.errors import FallworkError, Place
from fallwork.mechanics.course import gravity_of
from fallwork.pages import (
    GENERAL,
    HeldBack,
    Known,
    build_pages,
    held_back,
    on_paper,
    open_records,
    written,
)
from fallwork.pages import addresses as course_addresses
from fallwork.pages.schedule import in_words
from fallwork.scenario import CourseData, from_here, load_course
from fallwork.scenario.course import COURSE_FILE
from fallwork.scenario.dates import iso_moment
from fallwork.scenario.frozen import PUBLISHED
from fallwork.site import addresses, attachments, collection, folder, handouts, handwritten, look
from fallwork.site.audit import Audit, AuditError, Finding, copies_of, look_through
from fallwork.site.elsewhere import in_markup, require_file_fetches_nothing, require_nothing_fetched
from fallwork.site.errors import PublicationError, said
from fallwork.site.markup import CurrentPage

_STUDENT = "student"
_TEXTS = config_options.ListOfItems(config_options.Type(str))


class FallworkConfig(Config):  # type: ignore[no-untyped-call]  # MkDocs has no hint there
    """What mkdocs.yml may say under ``fallwork``."""

    site_data = config_options.Dir(exists=True, default="site-data")
    edition = config_options.Choice((_STUDENT, "staff"), default=_STUDENT)
    as_of = config_options.Optional(config_options.Type(str))  # ISO 8601; the course's own time
    # Numbers, by the file that holds them, that look like answers and are none.
    harmless = config_options.DictOfItems(_TEXTS, default={})
    elsewhere = config_options.Optional(_TEXTS)  # beginnings of addresses that pages may fetch from


class FallworkPlugin(BasePlugin[FallworkConfig]):  # type: ignore[no-untyped-call]  # as above
    """Pages of the course in ``site_data``, as they stand at one moment."""

    # Asked for by whoever builds:
    target: Path | None = None  # where the site will stand; None: where the settings say
    moment: datetime | None = None  # that the site shows; None: as the settings say, or now
    now: datetime | None = None  # None: by the clock
    handouts: bool = False  # whether pages are printed to PDF as well
    recording: bool = False  # whether what students will see goes on record
    # What was done:
    data: CourseData
    site: Path  # where it stands
    newly_recorded: tuple[str, ...]  # labs whose record is new or changed

    _serving: bool = False  # a preview needs no folder aside and is no publication
    _fresh: Path | None = None  # the folder aside in which the site is built
    _in_place: bool  # whether students will see it
    _current: CurrentPage
    _by_hand: tuple[str, ...] = ()  # addresses of the pages in docs_dir
    _described: list[look.Described]
    _words: Sequence[tuple[Place | str, str]]  # what the settings say on pages
    _held: tuple[HeldBack, ...]  # what students don't have yet
    _audit: Audit | None = None  # of what people wrote; None: nobody but its author will read it
    _found: list[Finding]
    _sources: dict[str, Path]  # the author's own files, by their addresses
    _known: Known  # lessons that were worked out for this build

    def on_startup(self, *, command: Literal["build", "gh-deploy", "serve"], dirty: bool) -> None:
        """Remember what is being done."""
        self._serving = command == "serve"
        if command == "gh-deploy" and self.config.edition != _STUDENT:
            raise PluginError("the staff edition holds the answers; it is not for the open web")

    def on_config(self, config: MkDocsConfig) -> MkDocsConfig:
        """Read the course; lay out the site after it; go aside to build."""
        handwritten.prepare(config)
        root = from_here(Path(self.config.site_data))
        if not self._serving:
            folder.put_right(root / PUBLISHED, Path(config.site_dir))
        self.data = load_course(root)
        course = self.data.course
        self._current, self._described, self._found, self._known = CurrentPage(), [], [], {}
        self.newly_recorded, self._words = (), tuple(handwritten.own_words(config))
        config.site_name = html.escape(course.title)
        config.site_url = handwritten.site_address(config) or course.url or None
        config.copyright = config.copyright or look.whom_to_ask(course.contact)
        config.extra["fw_staff"] = self.config.edition != _STUDENT
        look.furnish(config, self._current)
        self._moment, self._audit = self.moment or self._stated_moment(), None
        if not self._serving:
            self._go_aside(config)
            if self.config.edition == _STUDENT:
                self._held = held_back(self.data, self._moment)
                self._audit = Audit(
                    self._held,
                    gravity=gravity_of(course),
                    root=Path(config.config_file_path).parent,
                    harmless=self.config.harmless,
                )
        return config

    def on_files(self, files: Files, *, config: MkDocsConfig) -> Files:
        """Add the pages that are open, the look, and the short navigation."""
        self._by_hand = tuple(file.dest_uri for file in files.documentation_pages())
        self._sources = handwritten.own_files(files, config, drafts=self._serving)
        theme = handwritten.theme_files(config)
        handwritten.require_readable((*self._sources.values(), *theme.values()))
        later = self._hold_back(files)
        if not self._serving:  # whoever is still writing a page wants to see it
            self._read_own({**theme, **self._beside}, later)
        edition = self.config.edition
        pages = build_pages(
            self.data, now=self._moment, edition=edition, known=self._known, handouts=self.handouts
        )
        self._current.drawings = collection.add(pages, files, config)
        if not self._serving:
            handwritten.check_navigation(files, config)
        look.add_assets(files, config)
        return files

    def on_page_markdown(self, markdown: str, *, page: Page, **more: object) -> None:
        """Tell the Markdown extension which page comes now."""
        self._current.path = page.file.src_uri
        self._current.file = self._sources.get(page.file.dest_uri)
        self._current.to_send = not page.meta.get("staff_only")
        self._described.append(look.describe(page, self.data))

    @event_priority(-100)  # after whatever else puts something into a page
    def on_page_content(self, html: str, *, page: Page, config: MkDocsConfig, files: Files) -> str:
        """Read what a page of somebody's own says, wherever it came from."""
        if self._audit is not None and page.file.dest_uri in self._by_hand:
            named = handwritten.pages_folder(config) / page.file.src_uri
            source = self._sources.get(page.file.dest_uri, named)
            said = "".join(f"<p>{value}</p>" for value in page.meta.values())
            self._found += self._audit.of_page(source, said + self._current.filled(html))
        return html

    @event_priority(-100)  # after the search has read the page
    def on_page_context(self, context: TemplateContext, *, page: Page, **more: object) -> None:
        """Fill in formulas and drawings."""
        page.content = self._current.filled(page.content or "")

    def on_env(self, env: Environment, *, config: MkDocsConfig, files: Files) -> Environment:
        """All pages have been read: stop where they tell something."""
        if self._found:
            raise AuditError(self._found, self.config.harmless)
        env.bytecode_cache = look.COMPILED
        return env

    def on_post_page(self, output: str, *, page: Page, config: MkDocsConfig) -> str:
        """Mend what the theme leaves out; see that a page of somebody's own fetches nothing."""
        if not self._serving and page.file.dest_uri in (*self._by_hand, "index.html"):
            settings = handwritten.settings_of(config)
            source = self._sources.get(page.file.dest_uri, settings)
            allowed = self.config.elsewhere or ()
            require_nothing_fetched(in_markup(output), (source, settings), allowed)
        return look.name_parts(output, page)

    @event_priority(-100)  # after the search index is written
    def on_post_build(self, *, config: MkDocsConfig) -> None:
        """Complete the site, see that it may be published, and put it in its place."""
        fresh, target = Path(config.site_dir), self.target
        look.write_script(fresh)
        look.write_sitemap(fresh, config.site_url, self._described)
        warned = any(  # counted, because the settings are strict; the builder stops next
            isinstance(one, CountHandler) and one.get_counts()
            for one in logging.getLogger("mkdocs").handlers
        )
        if self._fresh is None or target is None or warned:
            return
        notes, swap = folder.noted(target), [(fresh, target)]
        if self.config.edition == _STUDENT:
            before, given = self._require_sound(fresh, config)
            if self.recording and self._in_place:
                record = addresses.fresh_record(self.data, self._moment, before, given)
                notes, swap = record.notes, [*record.swap, *swap]  # the record first
                self.newly_recorded = record.labs
        if self.handouts:  # what is printed has been looked through
            papers = on_paper(self.data, self._moment, self.config.edition)
            handouts.print_all(fresh, papers, config.site_url or "")
        folder.mark(fresh, self.config.edition, notes)
        folder.swap_in(*swap)
        self._fresh, self.site = None, target
        config.site_dir = str(target)

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
        self._fresh = self.target = self.moment = self.now = None
        self.recording = self.handouts = False

    def on_serve(self, server: LiveReloadServer, **more: object) -> LiveReloadServer:
        """Rebuild the preview when the course's files change."""
        server.watch(self.config.site_data)
        return server

    def _go_aside(self, config: MkDocsConfig) -> None:
        """Build in a fresh folder beside the target: no site in or around another, nor among the
        files from which it is made, nor in the place of what isn't ours.
        """
        students = Path(config.site_dir)
        target = (self.target or folder.of_edition(students, self.config.edition)).resolve()
        self.target, self._in_place = target, target == students.resolve()
        if self._in_place and self._moment > (self.now or datetime.now(UTC)):
            told = {"moment": self._moment.isoformat(), "site": students}
            raise PublicationError(said("to-come", **told))
        sources = (Path(config.docs_dir).resolve(), self.data.root.resolve())
        folder.require_apart(target, students.resolve(), sources)
        folder.require_ours(target, self.config.edition)
        self._fresh = folder.new_beside(target)
        config.site_dir = str(self._fresh)

    @property
    def _beside(self) -> dict[str, Path]:
        """The author's own files that are no pages."""
        return {at: each for at, each in self._sources.items() if at not in self._by_hand}

    def _hold_back(self, files: Files) -> dict[str, Path]:
        """Take out the attachments that students don't have yet, and give them; links to them say
        when they open.
        """
        if self.config.edition != _STUDENT:
            return {}
        course = self.data.course
        moments = {path: attachments.opens(course, path) for path in self._beside}
        to_come = {path: at for path, at in moments.items() if at and at > self._moment}
        self._current.to_come = {path: in_words(at, course.zone) for path, at in to_come.items()}
        for file in [file for file in files if file.dest_uri in to_come]:
            files.remove(file)
        return {path: self._sources.pop(path) for path in to_come}

    def _read_own(self, files: Mapping[str, Path], later: Mapping[str, Path]) -> None:
        """See that what people wrote fetches nothing and tells students nothing early; their pages
        are read once they are built.
        """
        for path in files.values():
            require_file_fetches_nothing(path, self.config.elsewhere or ())
        if self._audit is None:
            return
        file = self.data.root / COURSE_FILE
        handwritten.require(attachments.problems(self.data.course, file, {**files, **later}))
        for place, text in (*written(self.data, self._moment), *self._words):
            self._found += self._audit.of_text(place, text)
        for path in files.values():
            self._found += self._audit.of_file(path, path.read_bytes())

    def _require_sound(
        self, site: Path, config: MkDocsConfig
    ) -> tuple[addresses.Record, list[str]]:
        """See that the built site tells nothing early and loses no address; gives the record as it
        stands, and the addresses that the site gives out.
        """
        given = course_addresses(self.data, self._moment, known=self._known)
        findings = tuple(
            look_through(
                site,
                held=self._held,
                steps={one.text for one in given if one.anchor},
                copies=copies_of(self.data.root, tuple(open_records(self.data, self._moment))),
                sources=self._sources,
                packaged=look.packaged(config),
                declared=lambda path: attachments.declared(self.data.course, path),
            )
        )
        if findings:
            raise AuditError(findings)
        assert self.target is not None
        there, course = addresses.Site(site), [one.text for one in given]
        seen = self._in_place
        record = addresses.read_record(self.data, least=folder.recorded(self.target) if seen else 0)
        addresses.check(there.has, record, moment=self._moment, for_students=seen, also=course)
        pages = (*self._by_hand, *(f"{name}.html" for name in GENERAL))
        return record, [*course, *there.given_out(dict.fromkeys(pages))]

    def _stated_moment(self) -> datetime:
        if self.config.as_of is None:
            return datetime.now(UTC)
        try:
            return iso_moment(self.config.as_of, self.data.course.zone)
        except ValueError as error:
            raise PublicationError(said("no-moment", text=repr(self.config.as_of))) from error
