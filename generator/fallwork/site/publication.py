"""Publishing and previewing: a whole site built aside, then put in its place at once.

Takes the course's mkdocs.yml; gives a report, or raises and leaves what stood there as it was.
"""

import logging
import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from mkdocs.commands.build import build
from mkdocs.commands.serve import serve
from mkdocs.config import load_config
from mkdocs.config.defaults import MkDocsConfig
from mkdocs.exceptions import Abort, ConfigurationError, PluginError

from fallwork.errors import FallworkError
from fallwork.pages.schedule import coming
from fallwork.site import folder
from fallwork.site.errors import PublicationError
from fallwork.site.handwritten import in_words, setting_in_words, unreadable_settings
from fallwork.site.plugin import FallworkPlugin, to_come

_PLUGIN = "fallwork"


@dataclass(frozen=True, kw_only=True)
class Opening:
    """What the site doesn't show yet, and from when on it will."""

    at: datetime
    what: str  # e.g. "the solution of level-track in 2027-spring"


@dataclass(frozen=True, kw_only=True)
class Publication:
    """What was published."""

    site: Path
    pages: int  # HTML pages, hand-written ones included
    recorded: tuple[str, ...]  # labs whose record is new or changed, "2027-spring/level-track"
    next_opening: Opening | None  # after the moment that the site shows


def publish(
    config_file: Path,
    *,
    edition: str = "student",
    as_of: datetime | None = None,
    to: Path | None = None,
    now: datetime | None = None,
) -> Publication:
    """Build the site as it stands at ``as_of`` and put it into ``to``.

    Without ``to``, the student edition goes on record as what students see from now on: its
    addresses and the numbers of its labs. Record and site are put in place together.

    ``as_of`` is aware and defaults to ``now``, which defaults to the clock; ``to`` defaults to
    the ``site_dir`` of ``config_file``, which never gets a moment that is still to come, for the
    staff edition to a folder beside it. Raises
    ``BadInput`` for the course's files and ``PublicationError`` for everything else that stands
    in the way; the target is then as it was.
    """
    now = now or datetime.now(UTC)
    moment = as_of or now
    config = _configuration(config_file)
    students = Path(config.site_dir)
    target = (to or folder.of_edition(students, edition)).resolve()
    if moment > now and target == students.resolve():
        raise to_come(moment, students)
    plugin = _plugin(config)
    plugin.config.edition = edition
    plugin.moment, plugin.target = moment, target
    plugin.recording = to is None and edition == "student"
    with folder.one_at_a_time(config_file.resolve().parent):
        _build(config)
        pages = sum(1 for _ in target.rglob("*.html"))
    return Publication(
        site=target,
        pages=pages,
        recorded=plugin.newly_recorded,
        next_opening=_next(plugin, moment),
    )


def preview(config_file: Path, *, port: int = 8000) -> None:
    """Serve the site on this machine, rebuilding as files change, until interrupted."""
    _quieten()
    logging.basicConfig(level=logging.INFO, format="%(message)s")
    serve(str(config_file), dev_addr=f"127.0.0.1:{port}", livereload=True)


def _configuration(config_file: Path) -> MkDocsConfig:
    _quieten()
    with _messages() as messages:
        try:
            config = load_config(str(config_file), strict=True)
        except ConfigurationError as error:
            raise PublicationError(unreadable_settings(error, config_file)) from error
        except Abort as error:
            told = [setting_in_words(message, config_file) for message in messages]
            raise PublicationError("\n".join(told) or str(error)) from error
    if _PLUGIN not in config.plugins:
        raise PublicationError(f"{config_file} doesn't name the plugin {_PLUGIN!r}; add it")
    return config


def _plugin(config: MkDocsConfig) -> FallworkPlugin:
    plugin = config.plugins[_PLUGIN]
    assert isinstance(plugin, FallworkPlugin)
    return plugin


def _build(config: MkDocsConfig) -> None:
    """Build strictly; the docs builder's messages become those of the error."""
    with _messages() as messages:
        config.plugins.on_startup(command="build", dirty=False)
        try:
            build(config)
        except PluginError as error:
            if isinstance(error.__cause__, FallworkError):
                raise error.__cause__ from None
            raise PublicationError(str(error)) from error
        except Abort as error:
            told = [in_words(message, config) for message in messages]
            raise PublicationError("\n".join(told) or str(error)) from error
        except (OSError, shutil.Error) as error:  # a full disk, above all
            what = f"{error.filename}: {error.strerror}" if error.filename else error
            raise PublicationError(f"{what}; nothing was published") from error
        finally:
            config.plugins.on_shutdown()


@contextmanager
def _messages() -> Iterator[list[str]]:
    """What the docs builder warns of, as a list."""
    found: list[str] = []

    class Collector(logging.Handler):
        def emit(self, record: logging.LogRecord) -> None:
            found.append(record.getMessage())

    collector = Collector(level=logging.WARNING)
    logger = logging.getLogger("mkdocs")
    logger.addHandler(collector)
    try:
        yield found
    finally:
        logger.removeHandler(collector)


def _next(plugin: FallworkPlugin, moment: datetime) -> Opening | None:
    kinds = {"opens": "the prelab", "data": "the trials", "solution": "the solution"}
    for event in coming(plugin.data.terms, moment):
        if event.what in kinds:
            what = f"{kinds[event.what]} of {event.lab.id} in {event.term.id}"
            return Opening(at=event.at, what=what)
    return None


def _quieten() -> None:
    """The theme prints a notice about another program's future unless it is told not to."""
    os.environ["NO_MKDOCS_2_WARNING"] = "1"
