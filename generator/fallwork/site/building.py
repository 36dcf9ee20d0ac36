"""Calls the docs builder, and tells its complaints in the project's own words.

Takes the course's mkdocs.yml; gives settings and builds. Where the site stands afterwards is left
to ``publication`` and ``preview``.
"""

import logging
import os
import shutil
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Literal

from mkdocs.commands.build import build
from mkdocs.config import load_config
from mkdocs.config.defaults import MkDocsConfig
from mkdocs.exceptions import Abort, ConfigurationError, PluginError
from mkdocs.structure.files import get_files, set_exclusions

from fallwork.errors import FallworkError, Problem
from fallwork.scenario import CourseData
from fallwork.scenario.load import COURSE_FILE
from fallwork.site.attachments import Attachments
from fallwork.site.errors import PublicationError, said
from fallwork.site.handwritten import (
    in_words,
    own_files,
    setting_in_words,
    unlisted,
    unreadable_settings,
)
from fallwork.site.plugin import FallworkPlugin

_PLUGIN = "fallwork"


def configuration(
    config_file: Path, *, strict: bool = True, site: Path | None = None
) -> MkDocsConfig:
    """The settings of the docs builder; raises PublicationError. ``site`` is where to build."""
    _quieten()
    elsewhere = {} if site is None else {"site_dir": str(site)}
    with _messages() as messages:
        try:
            config = load_config(str(config_file), strict=strict, **elsewhere)
        except ConfigurationError as error:
            raise PublicationError(unreadable_settings(error, config_file)) from error
        except RecursionError as error:
            raise PublicationError(said("too-deep", file=config_file)) from error
        except Abort as error:
            told = [setting_in_words(message, config_file) for message in messages]
            raise PublicationError("\n".join(told) or str(error)) from error
    if _PLUGIN not in config.plugins:
        raise PublicationError(said("no-plugin", file=config_file, plugin=repr(_PLUGIN)))
    return config


def own_pages_unlisted(config_file: Path) -> list[Problem]:
    """The author's own pages at which a build would stop, since nav doesn't list them."""
    config = configuration(config_file)
    return list(unlisted(get_files(config), config))


def own_files_refused(config_file: Path, data: CourseData) -> list[str]:
    """What is said of files beside the author's pages at which a build would stop, place first."""
    config = configuration(config_file)
    files = get_files(config)
    set_exclusions(files, config)
    pages = {page.dest_uri for page in files.documentation_pages()}
    own = own_files(files, config, drafts=False)
    beside = {path: file for path, file in own.items() if path not in pages}
    return Attachments(data.course, data.root / COURSE_FILE).problems(beside)


def plugin_of(config: MkDocsConfig) -> FallworkPlugin:
    """The plugin of these settings."""
    plugin = config.plugins[_PLUGIN]
    assert isinstance(plugin, FallworkPlugin)
    return plugin


def built(config: MkDocsConfig, *, command: Literal["build", "serve"] = "build") -> list[str]:
    """Build; gives what the docs builder warns of. Raises ``FallworkError``, which holds that too
    where the settings are strict.
    """
    with _messages() as messages:
        config.plugins.on_startup(command=command, dirty=False)
        try:
            build(config)
        except PluginError as error:
            if isinstance(error.__cause__, FallworkError):
                raise error.__cause__ from None
            raise PublicationError(str(error)) from error
        except (Abort, AssertionError) as error:  # the latter from a reader of HTML
            raise PublicationError("\n".join(_told(messages, config)) or str(error)) from error
        except (OSError, shutil.Error) as error:  # a full disk, above all
            what = f"{error.filename}: {error.strerror}" if error.filename else error
            raise PublicationError(f"{what}; nothing was published") from error
        finally:
            config.plugins.on_shutdown()
        return _told(messages, config)


def _told(messages: Sequence[str], config: MkDocsConfig) -> list[str]:
    return [in_words(message, config) for message in messages]


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


def _quieten() -> None:
    """The theme prints a notice about another program's future unless it is told not to."""
    os.environ["NO_MKDOCS_2_WARNING"] = "1"
