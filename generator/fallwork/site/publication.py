"""Publishing: a whole site built aside, then put in its place at once.

Takes the course's mkdocs.yml; calls the docs builder and tells its complaints in the project's own
words; gives a report, or raises and leaves what stood there as it was.
"""

import logging
import os
import re
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from operator import itemgetter
from pathlib import Path
from typing import Literal, NamedTuple

from mkdocs.commands.build import build
from mkdocs.config import load_config
from mkdocs.config.defaults import MkDocsConfig
from mkdocs.exceptions import Abort, ConfigurationError, PluginError
from mkdocs.structure.files import get_files, set_exclusions
from yaml import MarkedYAMLError

from fallwork.errors import FallworkError, Place
from fallwork.pages.build import GENERAL, pages_of
from fallwork.pages.calendar import events
from fallwork.pages.context import Context
from fallwork.scenario import CourseData, from_here
from fallwork.scenario.course import COURSE_FILE
from fallwork.scenario.report import meant
from fallwork.scenario.tree import explain
from fallwork.site import files, folder
from fallwork.site.errors import PublicationError, place_of, said
from fallwork.site.plugin import FallworkPlugin
from fallwork.site.reading import require_nothing_fetched

_PLUGIN = "fallwork"
_LINK = re.compile(r"Doc file '([^']+)' contains a link '([^']+)', but .*")
_SETTING = re.compile("Config value '([^']+)': (.*)", re.DOTALL)
_OPENS = {"opens": "the prelab", "data": "the trials", "solution": "the solution"}


class Publication(NamedTuple):
    """What was published."""

    site: Path
    data: CourseData  # as it was read
    pages: int  # HTML pages, hand-written ones included
    recorded: tuple[str, ...]  # labs whose record is new or changed, "2027-spring/level-track"
    # After the moment that the site shows, "the solution of level-track in 2027-spring":
    next_opening: tuple[datetime, str] | None
    printed: tuple[str, ...]  # the handouts, as paths in the site


def publish(
    config_file: Path,
    *,
    edition: str = "student",
    as_of: datetime | None = None,
    to: Path | None = None,
    now: datetime | None = None,
    handouts: bool = False,
) -> Publication:
    """Build the site as it stands at ``as_of`` and put it into ``to``.

    In its usual place the student edition goes on record as what students see from now on: its
    addresses and the numbers of its labs. Record and site are put in place together. ``handouts``
    are pages printed to PDF.

    ``as_of`` is aware and defaults to ``now``, which defaults to the clock; ``to`` defaults to
    the ``site_dir`` of ``config_file``, which never gets a moment that is still to come, for the
    staff edition to a folder beside it. Raises
    ``BadInput`` for the course's files and ``PublicationError`` for everything else that stands
    in the way; the target is then as it was.
    """
    now = now or datetime.now(UTC)
    config, moment = configuration(config_file), as_of or now
    plugin = plugin_of(config)
    plugin.config.edition, plugin.target, plugin.recording = edition, to, True
    plugin.moment, plugin.now, plugin.handouts = moment, now, handouts
    with folder.one_at_a_time(config_file.resolve().parent):
        built(config)
        pages = sum(1 for _ in plugin.site.rglob("*.html"))
    to_come = [
        (e.at, f"{_OPENS[e.what]} of {e.given.lab.id} in {e.given.term.id}")
        for e in events(Context(plugin.data, moment))
        if e.what in _OPENS
    ]
    to_come += [(at, name) for name, at in plugin.data.course.attachments.items() if at]
    later = (opening for opening in to_come if opening[0] > moment)
    first = min(later, key=itemgetter(0), default=None)
    recorded, printed = plugin.newly_recorded, plugin.printed
    return Publication(plugin.site, plugin.data, pages, recorded, first, printed)


def refused_ahead(config_file: Path, data: CourseData) -> list[str]:
    """What is said of settings, pages and files of the author's own at which a build would stop
    before a page is made, place first.
    """
    try:
        config = configuration(config_file)
        files.prepare(config)
    except PublicationError as error:
        return [str(error)]
    there, elsewhere = get_files(config), plugin_of(config).config.elsewhere or ()
    ours = {f"{path}.md" for path in pages_of(data)}
    problems = [*files.wrong_in_navigation(there, config, ours)]
    for path in sorted(ours - {f"{name}.md" for name in GENERAL}):
        if there.get_file_from_path(path) is not None:
            problems.append(said("taken", page=files.pages_folder(config) / path))
    set_exclusions(there, config)
    pages = {page.dest_uri for page in there.documentation_pages()}
    own, theme = files.own_files(there, config, drafts=False), files.theme_files(config)
    beside = theme | {path: file for path, file in own.items() if path not in pages}
    try:
        files.require_readable((*own.values(), *theme.values()))
        for file in beside.values():
            require_nothing_fetched(elsewhere, file)
        return [*problems, *files.undeclared(data.course, data.root / COURSE_FILE, beside)]
    except PublicationError as error:
        return [*problems, str(error)]


# ---- the docs builder


def configuration(
    config_file: Path, *, strict: bool = True, site: Path | None = None
) -> MkDocsConfig:
    """The settings of the docs builder; raises PublicationError. ``site`` is where to build."""
    # The theme prints a notice about another program's future unless it is told not to.
    os.environ["NO_MKDOCS_2_WARNING"] = "1"
    elsewhere = {} if site is None else {"site_dir": str(site)}
    with _messages() as messages:
        try:
            config = load_config(str(config_file), strict=strict, **elsewhere)
        except ConfigurationError as error:
            raise PublicationError(_unreadable(error, from_here(config_file))) from error
        except RecursionError as error:
            raise PublicationError(said("too-deep", file=config_file)) from error
        except Abort as error:
            told = [_setting_in_words(message, from_here(config_file)) for message in messages]
            raise PublicationError("\n".join(told) or str(error)) from error
    if _PLUGIN not in config.plugins:
        raise PublicationError(said("no-plugin", file=config_file, plugin=repr(_PLUGIN)))
    return config


def plugin_of(config: MkDocsConfig) -> FallworkPlugin:
    """The plugin of these settings."""
    plugin = config.plugins[_PLUGIN]
    assert isinstance(plugin, FallworkPlugin)
    return plugin


def built(config: MkDocsConfig, *, command: Literal["build", "serve"] = "build") -> list[str]:
    """Build; gives the warnings, which ``FallworkError`` holds where the settings are strict."""
    with _messages() as messages:
        config.plugins.on_startup(command=command, dirty=False)
        try:
            build(config)
        except PluginError as error:
            if isinstance(error.__cause__, FallworkError):
                raise error.__cause__ from None
            raise PublicationError(str(error)) from error
        except (Abort, AssertionError) as error:  # the latter from a reader of HTML
            told = "\n".join(_in_words(message, files.pages_folder(config)) for message in messages)
            raise PublicationError(told or str(error)) from error
        except (OSError, shutil.Error) as error:  # a full disk, above all
            what = f"{error.filename}: {error.strerror}" if error.filename else error
            raise PublicationError(f"{what}; nothing was published") from error
        finally:
            config.plugins.on_shutdown()
        return [_in_words(message, files.pages_folder(config)) for message in messages]


@contextmanager
def _messages() -> Iterator[list[str]]:
    """What the docs builder warns of, as a list."""
    found: list[str] = []
    collector, logger = logging.Handler(level=logging.WARNING), logging.getLogger("mkdocs")
    collector.emit = lambda record: found.append(record.getMessage())  # type: ignore[method-assign]
    logger.addHandler(collector)
    try:
        yield found
    finally:
        logger.removeHandler(collector)


# ---- what it says, in other words


def _unreadable(error: Exception, file: Path) -> str:
    """Why the settings of the docs builder can't be read, with the place where it is known."""
    reason = error.__cause__ or error.__context__
    if not isinstance(reason, MarkedYAMLError):
        return f"{file}: {error}"
    mark, (found, expected) = explain(reason)
    place = Place(file=str(file), line=mark.line + 1, column=mark.column + 1)
    return f"{place}: {found}; {expected}"


def _setting_in_words(message: str, file: Path) -> str:
    """What the docs builder says of a value in its settings, with the place."""
    found = _SETTING.fullmatch(message)
    if found is None:
        return f"{file}: {message}"
    text = file.read_text("utf-8", errors="replace")  # YAML knows UTF-16 too
    quoted = re.findall(r"""['"]([^'"]+)['"]""", found[2])
    about = next((each for each in quoted if each in text), found[1])
    words = " ".join(found[2].split()).rstrip(".")
    return f"{place_of(file, about)}: {found[1]}: {words}; correct it there"


def _in_words(warning: str, folder: Path) -> str:
    """A warning of the docs builder; with its place and a remedy, where it is about a link."""
    found = _LINK.fullmatch(warning)
    if found is None or not (file := folder / found[1]).is_file():
        return warning
    known = [os.path.relpath(path, file.parent) for path in sorted(folder.rglob("*.md"))]
    hint = meant(found[2], known, "correct it, or take it out")
    return said("link-to-nothing", place=place_of(file, found[2]), link=found[2], hint=hint)
