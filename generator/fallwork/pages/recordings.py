"""The recordings of a lab on its pages: which are shown, and what leads to a step's moment.

Takes a page of a lab; gives addresses. Pages only link to them: nothing is fetched or embedded.
"""

from datetime import datetime

from fallwork.pages.context import STAFF, Context, GivenLab, LabPage
from fallwork.scenario import CourseData
from fallwork.scenario.report import Report, unknown
from fallwork.scenario.term import time_in_words


def watched(page: LabPage, step: str) -> list[tuple[str, str]]:
    """Of each recording that shows a step: the address that leads there, and the time."""
    patterns = page.given.site.data.course.recording_times
    return [
        (each.moment(each.marks[step], patterns), time_in_words(each.marks[step]))
        for each in page.given.lab.recordings
        if step in each.marks
    ]


def check_recordings(data: CourseData, now: datetime) -> None:
    """Raise ``BadInput`` for marks of steps that no page of their lab has."""
    report = Report()
    for given in Context(data, now, STAFF, telling=False).labs():
        if any(each.marks for each in given.lab.recordings) and not given.withdrawn:
            _check(given, report)
    report.raise_if_any()


def _check(given: GivenLab, report: Report) -> None:
    marks = {
        f"recordings.{number}.marks.{step}": step
        for number, each in enumerate(given.lab.recordings)
        for step in each.marks
    }
    known: dict[str, None] = {}
    for page in given.pages:  # those in symbols, which cost least, come first
        known |= dict.fromkeys(step.id for step in page.steps)
        if known.keys() >= {*marks.values()}:
            return
    for path, step in marks.items():
        if step not in known:
            report.refuse(given.lab.places[path], "unknown", **unknown("step", step, [*known]))
