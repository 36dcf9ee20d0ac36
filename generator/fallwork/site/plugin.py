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
from mkdocs.structure.nav import Navigation
from mkdocs.structure.pages import Page
from mkdocs.utils import CountHandler
from mkdocs.utils.templates import TemplateContext

from fallwork.errors import FallworkError, Place
from fallwork.mechanics.course import gravity_of
from fallwork.once import clear_away, keep_answers
from fallwork.pages.build import GENERAL, Pages
from fallwork.pages.heldback import HeldBack, held_back, open_records, written
from fallwork.pages.markdown import COMPILED
from fallwork.pages.schedule import in_words
from fallwork.scenario import CourseData, from_here, load_course
from fallwork.scenario.course import COURSE_FILE
from fallwork.scenario.dates import iso_moment
from fallwork.scenario.frozen import PUBLISHED
from fallwork.site import addresses, files, folder, handouts, look
from fallwork.site.audit import Audit, AuditError, Finding, look_through
from fallwork.site.copies import copies_of
from fallwork.site.errors import PublicationError, require, said
from fallwork.site.markup import CurrentPage
from fallwork.site.press import CoursePage, Press
from fallwork.site.reading import require_nothing_fetched

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
    target: Path | None = None  # where the site will stand, or the last one; None: as settings say
    moment: datetime | None = None  # that the site shows; None: as the settings say, or now
    now: datetime | None = None  # None: by the clock
    handouts: bool = False  # whether pages are printed to PDF as well
    recording: bool = False  # whether what students will see goes on record
    only: str | None = None  # the id of the lab that is shown alone
    # What was done:
    data: CourseData
    site: Path  # where it stands
    newly_recorded: tuple[str, ...]  # labs whose record is new or changed
    printed: tuple[str, ...]  # the handouts, as paths in the site

    _serving: bool = False  # a preview needs no folder aside and is no publication
    _fresh: Path | None = None  # the folder aside in which the site is built
    _in_place: bool  # whether students will see it
    _current: CurrentPage
    _pages: list[Page]  # all of them
    _sections: list[list[str]]  # what can be found on pages of no lab
    _words: Sequence[tuple[Place | str, str]]  # what the settings say on pages
    _held: tuple[HeldBack, ...]  # what students don't have yet
    _audit: Audit | None = None  # of what people wrote; None: nobody but its author will read it
    _found: list[Finding]
    _sources: dict[str, Path]  # the author's own files, by their addresses
    _by_hand: tuple[str, ...] = ()  # addresses of those that are pages
    _course: Pages  # the course's own
    _press: Press  # that makes them

    def on_startup(self, *, command: Literal["build", "gh-deploy", "serve"], dirty: bool) -> None:
        """Remember what is being done."""
        self._serving = command == "serve"
        if command == "gh-deploy" and self.config.edition != _STUDENT:
            raise PluginError("the staff edition holds the answers; it is not for the open web")

    def on_config(self, config: MkDocsConfig) -> MkDocsConfig:
        """Read the course; lay out the site after it; go aside to build."""
        keep_answers()
        files.prepare(config)
        root = from_here(Path(self.config.site_data))
        if not self._serving:
            folder.put_right(root / PUBLISHED, Path(config.site_dir))
        data = load_course(root)
        self.data = data if self.only is None else data.with_one_lab(self.only)
        course, students = self.data.course, self.config.edition == _STUDENT
        self._current, self._pages, self._found = CurrentPage(), [], []
        self.newly_recorded, self.printed, self._sections = (), (), []
        self._words = tuple(files.own_words(config))
        config.site_name = html.escape(course.title)
        config.site_url = config.site_url or course.url or None
        config.copyright = config.copyright or look.whom_to_ask(course.contact)
        config.extra["fw_staff"] = not students
        look.furnish(config, self._current)
        try:
            stated = self.config.as_of and iso_moment(self.config.as_of, course.zone)
        except ValueError as error:
            raise PublicationError(said("no-moment", text=repr(self.config.as_of))) from error
        self._moment, self._audit = self.moment or stated or datetime.now(UTC), None
        if not self._serving:
            self._go_aside(config)
            if students:
                self._held = held_back(self.data, self._moment)
                root, harmless = Path(config.config_file_path).parent, self.config.harmless
                gravity = gravity_of(course)
                self._audit = Audit(self._held, gravity=gravity, root=root, harmless=harmless)
        return config

    def on_files(self, there: Files, /, *, config: MkDocsConfig) -> Files:
        """Add the pages that are open, the look, and the short navigation."""
        self._by_hand = tuple(file.dest_uri for file in there.documentation_pages())
        self._sources = files.own_files(there, config, drafts=self._serving)
        theme = files.theme_files(config)
        files.require_readable((*self._sources.values(), *theme.values()))
        beside = {at: each for at, each in self._sources.items() if at not in self._by_hand}
        self._hold_back(there, beside)
        if not self._serving:  # whoever is still writing a page wants to see it
            self._read_own(theme, beside)
        edition, printed = self.config.edition, self.handouts
        self._course = Pages(self.data, self._moment, edition, handouts=printed).checked()
        listed = self._course.listed
        self._current.drawings = files.add(listed, there, config, CoursePage)
        if not self._serving:
            require(files.wrong_in_navigation(there, config))
        look.add_assets(there, config)
        self._press = Press(config, there, self._current, self.target)
        return there

    def on_nav(self, nav: Navigation, /, **more: object) -> Navigation:
        """What stands in every page's menus."""
        self._press.nav = nav
        return nav

    def on_page_markdown(self, markdown: str, *, page: Page, **more: object) -> None:
        """Tell the Markdown extension which page comes now."""
        self._current.path = page.file.src_uri
        self._current.file = self._sources.get(page.file.dest_uri)
        self._current.to_send = not page.meta.get("staff_only")
        look.describe(page, self.data)

    @event_priority(-100)  # after whatever else puts something into a page
    def on_page_content(
        self, html: str, *, page: Page, config: MkDocsConfig, **more: object
    ) -> str:
        """Read what a page of somebody's own says, wherever it came from."""
        if self._audit is not None and page.file.dest_uri in self._by_hand:
            named = files.pages_folder(config) / page.file.src_uri
            source = self._sources.get(page.file.dest_uri, named)
            said = "".join(f"<p>{value}</p>" for value in page.meta.values())
            self._found += self._audit.of_page(source, said + self._current.filled(html))
        if not isinstance(page.file, CoursePage):
            self._pages.append(page)
            self._sections += look.sections(page, html)
        return html

    @event_priority(-100)  # after whatever else reads the page
    def on_page_context(self, context: TemplateContext, *, page: Page, **more: object) -> None:
        """Fill in formulas and drawings."""
        page.content = self._current.filled(page.content or "")

    def on_env(self, env: Environment, **more: object) -> Environment:
        """The author's pages have been read: stop where they tell something; make the course's."""
        if self._found:
            raise AuditError(self._found, self.config.harmless)
        env.bytecode_cache = COMPILED
        self._press.run(env)
        self._sections += [each for file in self._press.pages for each in file.facts.found]
        self._pages += [file.page for file in self._press.pages if file.page]
        return env

    def on_post_page(self, output: str, *, page: Page, config: MkDocsConfig) -> str:
        """Mend what the theme leaves out; see that a page of somebody's own fetches nothing."""
        if not self._serving and page.file.dest_uri in (*self._by_hand, "index.html"):
            settings = files.settings_of(config)
            source = self._sources.get(page.file.dest_uri, settings)
            require_nothing_fetched(self.config.elsewhere or (), source, settings, page=output)
        return look.name_parts(output, page)

    @event_priority(-100)
    def on_post_build(self, *, config: MkDocsConfig) -> None:
        """Complete the site, see that it may be published, and put it in its place."""
        fresh, target = Path(config.site_dir), self.target
        look.write_sections(fresh, self._sections)
        look.write_sitemap(fresh, config.site_url, self._pages)
        warned = any(  # counted, because the settings are strict; the builder stops next
            isinstance(one, CountHandler) and one.get_counts()
            for one in logging.getLogger("mkdocs").handlers
        )
        if self._fresh is None or target is None or warned:
            return
        notes, swap = folder.noted(target), [(fresh, target)]
        if self.config.edition == _STUDENT:
            before, given = self._require_sound(fresh, target, config)
            if self.recording and self._in_place:  # the record first
                moment = self._moment
                put, labs, notes = addresses.fresh_record(self.data, moment, before, given)
                swap, self.newly_recorded = [*put, *swap], tuple(labs)
        if self.handouts:  # what is printed has been looked through
            papers = self._course.on_paper
            self.printed = handouts.print_all(fresh, papers, config.site_url or "")
        folder.mark(fresh, self.config.edition, notes)
        folder.swap_in(*swap)
        clear_away()
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
        self._fresh = self.target = self.moment = self.now = self.only = None
        self.recording = self.handouts = False

    def on_serve(self, server: LiveReloadServer, **more: object) -> LiveReloadServer:
        """Rebuild the preview when the course's files change."""
        server.watch(self.config.site_data)
        return server

    def _go_aside(self, config: MkDocsConfig) -> None:
        """Build in a fresh folder beside the target: no site in or around another, nor among the
        files from which it is made, nor in the place of what isn't ours.
        """
        students, edition = Path(config.site_dir), self.config.edition
        beside = "" if edition == _STUDENT else f"-{edition}"
        target = (self.target or students.with_name(f"{students.name}{beside}")).resolve()
        self.target, self._in_place = target, target == students.resolve()
        if self._in_place and self._moment > (self.now or datetime.now(UTC)):
            told = {"moment": self._moment.isoformat(), "site": students}
            raise PublicationError(said("to-come", **told))
        sources = (Path(config.docs_dir).resolve(), self.data.root.resolve())
        self._fresh = folder.aside(target, students.resolve(), sources, edition)
        config.site_dir = str(self._fresh)

    def _hold_back(self, there: Files, beside: Mapping[str, Path]) -> None:
        """Take out the attachments that students don't have yet; links to them say when they open.
        ``beside``: files that are no pages.
        """
        course, students = self.data.course, self.config.edition == _STUDENT
        moments = {path: files.opens(course, path) for path in beside if students}
        to_come = {path: at for path, at in moments.items() if at and at > self._moment}
        self._current.to_come = {path: in_words(at, course.zone) for path, at in to_come.items()}
        for file in [file for file in there if file.dest_uri in to_come]:
            there.remove(file)
            self._sources.pop(file.dest_uri, None)

    def _read_own(self, theme: Mapping[str, Path], beside: Mapping[str, Path]) -> None:
        """See that people’s words fetch and tell nothing; pages are read once they are built."""
        given = {**theme, **{at: each for at, each in beside.items() if at in self._sources}}
        for path in given.values():
            require_nothing_fetched(self.config.elsewhere or (), path)
        if self._audit is None:
            return
        course, file = self.data.course, self.data.root / COURSE_FILE
        require(files.undeclared(course, file, {**theme, **beside}))
        for place, text in (*written(self.data, self._moment), *self._words):
            self._found += self._audit.of_text(place, text)
        own = (Path(each.place.file) for each in course.notation.words.values())
        for path in (*given.values(), *own):
            self._found += self._audit.of_file(path, path.read_bytes())

    def _require_sound(
        self, site: Path, target: Path, config: MkDocsConfig
    ) -> tuple[addresses.Record, list[str]]:
        """See that the built site tells nothing early and loses no address; gives the record as it
        stands, and the addresses that the site gives out.
        """
        given = self._course.addresses
        findings = tuple(
            look_through(
                site,
                held=self._held,
                steps={each for each in given if "#" in each},
                copies=copies_of(self.data.root, open_records(self.data, self._moment)),
                sources=self._sources,
                made={file.dest_uri: file.facts.told for file in self._press.pages},
                packaged=look.packaged(config),
                declared=lambda path: files.declared(self.data.course, path),
            )
        )
        if findings:
            raise AuditError(findings)
        has = files.there(site, self._pages)
        seen = self._in_place
        record = addresses.read_record(self.data, least=folder.recorded(target) if seen else 0)
        addresses.check(has, record, moment=self._moment, for_students=seen, also=given)
        own = files.given_out(self._pages, self._by_hand)
        return record, [*given, *own, *self._press.given_out(GENERAL)]
