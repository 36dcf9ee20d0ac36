"""Publishing: a whole site built aside, then put in its place at once.

Takes the course's mkdocs.yml; gives a report, or raises and leaves what stood there as it was.
"""

from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from fallwork.pages.schedule import coming
from fallwork.scenario import CourseData
from fallwork.site import folder
from fallwork.site.building import built, configuration, plugin_of
from fallwork.site.plugin import FallworkPlugin, to_come


@dataclass(frozen=True, kw_only=True)
class Opening:
    """What the site doesn't show yet, and from when on it will."""

    at: datetime
    what: str  # e.g. "the solution of level-track in 2027-spring"


@dataclass(frozen=True, kw_only=True)
class Publication:
    """What was published."""

    site: Path
    data: CourseData  # as it was read
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

    In its usual place the student edition goes on record as what students see from now on: its
    addresses and the numbers of its labs. Record and site are put in place together.

    ``as_of`` is aware and defaults to ``now``, which defaults to the clock; ``to`` defaults to
    the ``site_dir`` of ``config_file``, which never gets a moment that is still to come, for the
    staff edition to a folder beside it. Raises
    ``BadInput`` for the course's files and ``PublicationError`` for everything else that stands
    in the way; the target is then as it was.
    """
    now = now or datetime.now(UTC)
    moment = as_of or now
    config = configuration(config_file)
    students = Path(config.site_dir)
    target = (to or folder.of_edition(students, edition)).resolve()
    if moment > now and target == students.resolve():
        raise to_come(moment, students)
    plugin = plugin_of(config)
    plugin.config.edition = edition
    plugin.moment, plugin.target = moment, target
    plugin.recording = edition == "student" and target == students.resolve()
    with folder.one_at_a_time(config_file.resolve().parent):
        built(config)
        pages = sum(1 for _ in target.rglob("*.html"))
    return Publication(
        site=target,
        data=plugin.data,
        pages=pages,
        recorded=plugin.newly_recorded,
        next_opening=_next(plugin, moment),
    )


def _next(plugin: FallworkPlugin, moment: datetime) -> Opening | None:
    kinds = {"opens": "the prelab", "data": "the trials", "solution": "the solution"}
    found = [
        Opening(at=event.at, what=f"{kinds[event.what]} of {event.lab.id} in {event.term.id}")
        for event in coming(plugin.data.terms, moment)
        if event.what in kinds
    ]
    attachments = plugin.data.course.attachments.items()
    found += [Opening(at=at, what=name) for name, at in attachments if at and at > moment]
    return min(found, key=lambda opening: opening.at, default=None)
