"""What is put on record of a lab when it is published.

Takes a lab as its files give it; gives its numbers, results and trials as texts.
"""

from fallwork.mechanics.course import gravity_of
from fallwork.planning.examples import example_in
from fallwork.planning.results import results_of
from fallwork.scenario import (
    Course,
    CourseData,
    Frozen,
    GivenMean,
    Lab,
    Measured,
    Scenario,
    fields_of,
)
from fallwork.scenario.quantity import as_written

_FIGURES = 6  # of results: fewer than floats differ in from machine to machine
NOTHING = 1e-9  # SI; a result below this is zero


def recorded(term: str, lab: Lab, data: CourseData, *, with_trials: bool) -> Frozen:
    """What the pages of the lab are made of now; the trials only where they are open."""
    gravity, example = gravity_of(data.course), example_in(data, term, lab)
    return Frozen(
        scenario=lab.scenario.id,
        variant={**_of_course(data.course), **fields_of(lab.variant)},
        example={**_of_course(data.course), **fields_of(example)},
        results=_written(lab.variant, gravity),
        example_results=_written(example, gravity),
        measured=_trials(lab.measured) if with_trials and lab.measured else {},
        corrections=lab.corrections,
    )


def _written(scenario: Scenario, gravity: float) -> dict[str, str]:
    return {
        name: f"{0.0 if abs(each.value) < NOTHING else each.value:.{_FIGURES}g} {each.unit}"
        for name, each in results_of(scenario, gravity).items()
    }


def _of_course(course: Course) -> dict[str, str]:
    """What a course says that every number of its labs depends on."""
    given = {"gravity": course.gravity, "latitude": course.latitude, "height": course.height}
    found = {f"course.{key}": as_written(value) for key, value in given.items() if value}
    return {**found, "course.significant_figures": str(course.significant_figures)}


def _trials(measured: Measured) -> dict[str, str]:
    """The trials as texts: digests of the files, or the values, and what is done with them."""
    found = dict(measured.digests)
    for name, given in measured.values.items():
        if isinstance(given, GivenMean):
            n = f"n = {given.n}" if given.n else ""
            spread = f"s = {as_written(given.deviation)}" if given.deviation else ""
            found[name] = ", ".join(filter(None, (as_written(given.value), n, spread)))
        else:
            found[name] = ", ".join(as_written(each) if each else "none" for each in given)
    found |= {f"signs.{channel}": str(sign) for channel, sign in measured.signs.items()}
    for window in measured.windows:
        found[f"windows.{window.trial}"] = f"{as_written(window.start)} to {as_written(window.end)}"
    found |= {"zero": measured.zero} if measured.zero else {}
    found |= {f"exclude.{each.trial}": each.because for each in measured.excluded}
    found |= {f"include.{each.trial}": each.because for each in measured.included}
    sensors = vars(measured.sensors)
    found |= {f"sensors.{key}": as_written(value) for key, value in sensors.items() if value}
    return found
