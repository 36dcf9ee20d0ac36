"""What of a course the students' pages may be made of at a moment: the rest isn't handed to them.

Takes a course's data, the moment and the edition; gives the data without the numbers, trials,
reasons and corrections that aren't open yet. What is computed from open numbers is held back page
by page.
"""

from dataclasses import replace
from datetime import datetime

from fallwork.pages import schedule
from fallwork.pages.context import STAFF
from fallwork.pages.schedule import DATA, PRELAB
from fallwork.planning.published import MEASURED, RESULTS
from fallwork.scenario import Correction, CourseData, Lab, Measured


def opened(data: CourseData, now: datetime, edition: str) -> CourseData:
    """The data as the edition may show them at ``now`` (aware): staff see everything."""
    if edition == STAFF:
        return data
    return replace(
        data,
        terms=tuple(
            replace(term, labs=tuple(_opened(lab, now) for lab in term.labs)) for term in data.terms
        ),
    )


def _opened(lab: Lab, now: datetime) -> Lab:
    open_yet = schedule.is_open(PRELAB, lab, now)
    trials = schedule.is_open(DATA, lab, now)
    return replace(
        lab,
        # Until it opens, a lab is its scenario file, under the title that the term gives it.
        variant=lab.variant if open_yet else replace(lab.scenario, title=lab.title),
        example=lab.example if open_yet else None,
        measured=lab.measured if trials else _announced(lab, now),
        extended_to=None,
        corrections=tuple(each for each in lab.corrections if is_told(each, lab, now)),
        withdrawn=lab.withdrawn if schedule.is_withdrawn(lab, now) else None,
    )


def _announced(lab: Lab, now: datetime) -> Measured | None:
    """Trials to come are announced by their date, whether they are there already or not."""
    to_come = lab.data_opens_last is not None and now < lab.trials_open
    return Measured() if to_come else None


def is_told(correction: Correction, lab: Lab, now: datetime) -> bool:
    """Whether students may see what the correction was about."""
    opens = {RESULTS: lab.solution_opens, MEASURED: lab.trials_open}
    return opens.get(correction.field.partition(".")[0], lab.opens_first) <= now
