"""The MkDocs plugin: hooks only; the work stands in the modules beside it.

Takes the course's files; adds their pages to the site in memory, sets formulas and drawings,
brings the style and the fonts along.
"""

from datetime import UTC, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from mkdocs.config import config_options
from mkdocs.config.base import Config
from mkdocs.config.defaults import MkDocsConfig
from mkdocs.exceptions import PluginError
from mkdocs.livereload import LiveReloadServer
from mkdocs.plugins import BasePlugin, event_priority
from mkdocs.structure.files import Files
from mkdocs.structure.pages import Page

from fallwork.errors import FallworkError
from fallwork.pages import build_pages
from fallwork.scenario import load_course
from fallwork.scenario.model import CourseData
from fallwork.site import collection, folder, look, search
from fallwork.site.errors import PublicationError
from fallwork.site.markup import CurrentPage


class FallworkConfig(Config):  # type: ignore[no-untyped-call]  # MkDocs has no hint there
    """What mkdocs.yml may say under ``fallwork``."""

    site_data = config_options.Dir(exists=True, default="site-data")
    edition = config_options.Choice(("student", "staff"), default="student")
    as_of = config_options.Optional(config_options.Type(str))  # ISO 8601; the course's own time


class FallworkPlugin(BasePlugin[FallworkConfig]):  # type: ignore[no-untyped-call]  # as above
    """Pages of the course in ``site_data``, as they stand at one moment."""

    data: CourseData
    current: CurrentPage

    def on_config(self, config: MkDocsConfig) -> MkDocsConfig:
        """Read the course; lay out the site after it."""
        self.data = load_course(Path(self.config.site_data))
        self.current = CurrentPage()
        config.site_name = self.data.course.title
        config.site_url = config.site_url or self.data.course.url or None
        config.copyright = config.copyright or look.whom_to_ask(self.data.course.contact)
        look.furnish(config, self.current)
        return config

    def on_pre_build(self, *, config: MkDocsConfig) -> None:
        """MkDocs empties the folder next: never one that isn't a site of this edition."""
        folder.require_ours(Path(config.site_dir), self.config.edition)

    def on_files(self, files: Files, *, config: MkDocsConfig) -> Files:
        """Add the pages that are open, the look, and the short navigation."""
        pages = build_pages(self.data, now=self._moment(), edition=self.config.edition)
        self.current.drawings = collection.add(pages, files, config)
        look.add_assets(files, config)
        return files

    def on_page_markdown(
        self, markdown: str, *, page: Page, config: MkDocsConfig, files: Files
    ) -> str:
        """Tell the Markdown extension which page comes now."""
        self.current.path = page.file.src_uri
        return markdown

    def on_post_page(self, output: str, *, page: Page, config: MkDocsConfig) -> str:
        """Mend what the theme leaves out."""
        return look.name_search(output)

    @event_priority(-100)  # after the search index is written
    def on_post_build(self, *, config: MkDocsConfig) -> None:
        """Make the search work from a folder; mark the folder as ours."""
        search.write_script(Path(config.site_dir))
        folder.mark(Path(config.site_dir), self.config.edition)

    def on_build_error(self, *, error: Exception) -> None:
        """A mistake in the course's files is told in a sentence, without a traceback."""
        if isinstance(error, FallworkError):
            raise PluginError(str(error)) from error

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
            moment = datetime.fromisoformat(self.config.as_of)
        except ValueError as error:
            raise PublicationError(
                f"as_of is {self.config.as_of!r}; write a moment such as 2027-02-15T08:00"
            ) from error
        return (
            moment if moment.tzinfo else moment.replace(tzinfo=ZoneInfo(self.data.course.time_zone))
        )
