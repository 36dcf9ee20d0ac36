"""The measured force against the position, with its work as the area.

Takes a scene whose slot names a trial; plots the readings within the run, their mean over the
distance, and the area below it. The position is that of the fitted line, from the release.
"""

from fallwork.figures.charts import Panel
from fallwork.figures.drawing import Drawing
from fallwork.figures.labels import Spot, Words
from fallwork.figures.record import channels_of, dots, mark_simulated, trial_of, with_source
from fallwork.figures.scene import CannotDrawError, Plate, Scene, say, sentence
from fallwork.figures.tension_work import draw_work, force_panel
from fallwork.lesson.measured.words import shown
from fallwork.measurement.model import FoundRun, Measurand, Trial
from fallwork.measurement.view import view_of

NEEDED = (Measurand.MEAN_TENSION, Measurand.WORK_OF_TENSION)


def record_work(scene: Scene) -> Plate:
    """Readings, mean and area of one trial."""
    trial, _, run = trial_of(scene)
    if any(quantity not in trial.estimates for quantity in NEEDED) or trial.window is None:
        raise CannotDrawError(f"the record of {trial.name!r} has no force in the run")
    readings = _readings(trial, run, scene)
    tension, work = (trial.estimates[quantity].value for quantity in NEEDED)
    distance = work / tension  # the measured one, or the given one that ends the run
    panel = force_panel([tension, *(force for _, force in readings)], distance)
    drawing = Drawing()
    name = scene.the(view_of(scene.scenario).moving)
    draw_work(drawing, panel, name, distance, tension)
    dots(drawing, (panel.at(*reading) for reading in readings), role="quiet")
    words = _words(scene, trial, distance)
    _write(drawing, panel, words, tension, distance)
    mark_simulated(drawing, scene)
    return Plate(
        sheet=drawing.sheet(),
        title=sentence(say("record-work-title", **words)),
        description=sentence(with_source(scene, say("record-work-description", **words))),
        caption=sentence(with_source(scene, say("record-work-caption", **words))),
    )


def _readings(trial: Trial, run: FoundRun, scene: Scene) -> list[tuple[float, float]]:
    """(position, force) of the readings in the stretch that was fitted."""
    assert trial.record is not None  # as ``trial_of`` has seen
    force = next(c for c in channels_of(trial, trial.record, run) if c.name == "force")
    speed, acceleration = run.driven_line
    start = trial.window[0] if trial.window is not None else run.driven[0]
    begin = speed * start + acceleration * start**2 / 2
    return [
        (speed * float(t) + acceleration * float(t) ** 2 / 2 - begin, float(value))
        for t, value in zip(force.time, force.values, strict=True)
        if run.driven[0] <= t <= run.driven[1]
    ]


def _words(scene: Scene, trial: Trial, distance: float) -> dict[str, str]:
    found = {"trial": trial.name, "object": scene.the(view_of(scene.scenario).moving)}
    found["distance"] = scene.number(distance, "m")
    measured = (
        *zip(("tension", "work"), NEEDED, "NJ", strict=True),
        ("distance", Measurand.DISTANCE, "m"),
    )
    for key, quantity, unit in measured:
        estimate = trial.estimates.get(quantity)
        if estimate is not None:
            found[key] = shown(estimate, unit, scene.figures)
    return found


def _write(
    drawing: Drawing, panel: Panel, words: dict[str, str], tension: float, distance: float
) -> None:
    middle = panel.at(distance / 2, 0.45 * tension)
    area = Words(lines=((say("work-area"),), (words["work"],)))
    drawing.label(area, (Spot(at=middle, across=0.5, up=0.5),))
    x, y = panel.at(distance / 2, panel.y_range[1])
    mean = Words(lines=((say("record-work-mean", **words),),))
    drawing.label(
        mean,
        [Spot(at=(x, y - down), across=0.5, up=1.0) for down in (0.0, 8.0, -10.0)],
        role="accent-1",
    )
