"""Builds the site and puts it in place, or serves it while it is being written.

Takes options as typed; gives lines of text. The building is the site stage's.
"""

from collections.abc import Iterator
from pathlib import Path
from zoneinfo import ZoneInfo

from fallwork.commands.notes import note, on_address
from fallwork.commands.sources import course_folder
from fallwork.commands.typed import read_moment
from fallwork.errors import FallworkError
from fallwork.pages.schedule import in_words
from fallwork.planning import revealed
from fallwork.scenario import PUBLISHED, CourseData, load_course
from fallwork.site.preview import preview
from fallwork.site.publication import Opening, publish

_SETTINGS = Path("mkdocs.yml")  # in the current folder


class NoSettingsError(FallworkError):
    """A folder in which no site can be built."""

    def __str__(self) -> str:
        return f"there is no {_SETTINGS} here; run this command in the folder that holds it"


def publish_site(*, edition: str, moment: str | None, target: Path | None) -> tuple[str, ...]:
    """Publish, and say what stands where and when something opens next."""
    zone = load_course(course_folder(), record=False).course.zone
    as_of = read_moment(moment, zone)
    publication = publish(_settings(), edition=edition, as_of=as_of, to=target)
    data = publication.data
    return (
        f"{_shown(publication.site)}: {publication.pages} pages of the {edition} edition, "
        f"as of {in_words(as_of, zone)}",
        *_recorded(data, publication.recorded),
        *(note(each.place, str(each)) for each in revealed(data, as_of) if each.of != each.key),
        *(on_address(data) if edition == "staff" else ()),
        *_opens_next(publication.next_opening, zone),
    )


def _recorded(data: CourseData, labs: tuple[str, ...]) -> Iterator[str]:
    if labs:
        yield f"Recorded in {data.root}/{PUBLISHED}: {', '.join(labs)}. Keep it with the course."


def _opens_next(opening: Opening | None, zone: ZoneInfo) -> Iterator[str]:
    if opening is None:
        yield "Nothing more opens later."
    else:
        yield f"Opens next: {opening.what}, on {in_words(opening.at, zone)}"


def preview_site(*, edition: str, moment: str | None, port: int) -> None:
    """Serve until interrupted; the course's mistakes show before the server starts."""
    zone = load_course(course_folder(), record=False).course.zone
    as_of = None if moment is None else read_moment(moment, zone)
    preview(_settings(), edition=edition, as_of=as_of, port=port)


def _settings() -> Path:
    if not _SETTINGS.is_file():
        raise NoSettingsError
    return _SETTINGS


def _shown(path: Path) -> Path:
    here = Path.cwd()
    return path.relative_to(here) if path.is_relative_to(here) else path
