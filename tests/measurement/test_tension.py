"""The pull in a record: means, work, zero, sign."""

import numpy as np
import pytest

from fallwork.measurement.finding import find_run
from fallwork.measurement.finding_fit import Readings, without_spikes
from fallwork.measurement.model import Estimate, Record
from fallwork.measurement.settings import Settings, Tare, Zero
from fallwork.measurement.tension import Pull, notes_on_zeros, pull_between, pull_in
from measurement.bench import LASTS, PULL, WEIGHT, path, record


def trial(*, growing: float = 0.0, offset: float = 0.0, noise: float = 0.005) -> Record:
    """The bench's run, with a pull that grows by so much per second from release on."""
    true = path()
    random = np.random.default_rng(8)
    since = np.clip(true.time - 0.8, 0, None)
    force = np.where(true.force > 0, true.force + growing * since, 0.0) + offset
    n = len(true.time)
    return record(
        true,
        velocity=true.velocity + random.normal(0, 0.001, n),
        force=force + random.normal(0, noise, n),
    )


def pull(given: Record, tare: Tare | None = None, sign: int | None = None) -> Pull:
    motion = find_run(given)
    signs = {} if sign is None else {"force": sign}
    found = pull_in(given, motion.run, motion.estimates, Settings(tare=tare, signs=signs))
    assert found is not None
    return found


def test_means_over_distance_and_over_time_differ_for_a_growing_pull() -> None:
    """F = F₀ + k t with v = a t: F₀ + k T/2 over the time, F₀ + 2 k T/3 over the distance."""
    found = pull(trial(growing=0.2, noise=0.0005))
    over_time = PULL + 0.2 * LASTS / 2
    over_distance = PULL + 0.2 * LASTS * 2 / 3
    assert found.estimates["mean_tension_over_time"].value == pytest.approx(over_time, abs=0.002)
    assert found.estimates["mean_tension"].value == pytest.approx(over_distance, abs=0.002)
    assert found.notes[-1] == (
        "the force changes by +21 % within the driven part: its means over the distance and over "
        "the time differ"
    )


HELD = Estimate(value=WEIGHT, u=0.0)


@pytest.mark.parametrize(
    ("tare", "where", "told"),
    [
        (Tare(zero=Zero.SLACK), "the stretch after landing", {"force_held"}),
        (Tare(zero=Zero.HELD, known=HELD), "the stretch before release", {"force_slack"}),
        (
            Tare(zero=Zero.SPAN, known=HELD, span=(0.1, 0.6)),
            "a stretch set by hand",
            {"force_held", "force_slack"},
        ),
    ],
)
def test_the_zero_is_set_where_the_force_is_known_and_that_is_no_finding(
    tare: Tare, where: str, told: set[str]
) -> None:
    found, bare = pull(trial(offset=0.05, noise=0.001), tare), pull(trial(noise=0.001))
    mean = found.estimates["mean_tension"]
    assert mean.value == pytest.approx(PULL, abs=3 * mean.u)
    assert mean.u > bare.estimates["mean_tension"].u
    assert found.offset == pytest.approx(0.05, abs=0.001)
    (note, *_) = notes_on_zeros([found.offset or 0.0], tare)
    assert note.startswith(f"force zeroed by −{found.offset:.4f} N from {where}")
    assert {name for name in found.estimates if name.startswith("force")} == told


def test_an_offset_that_nothing_takes_off_is_named() -> None:
    found = pull(trial(offset=0.05, noise=0.001))
    assert "force reads 0.050 N with the string slack, and is not zeroed" in found.notes
    assert found.estimates["force_slack"].value == pytest.approx(0.05, abs=0.001)


def test_a_pull_that_counts_as_negative_is_turned_over() -> None:
    given = trial()
    assert given.force is not None
    turned = record(path(), velocity=given.velocity, force=-given.force)
    assert pull(turned).estimates == pull(given).estimates
    assert pull(turned).notes[0] == "a pull counts as negative: force turned over"
    assert pull(turned, sign=-1).notes == ()


def test_a_force_alone_gives_its_mean_over_a_window() -> None:
    given = trial()
    found = pull_between(record(path(), force=given.force), (0.85, 1.65))
    assert found is not None
    assert list(found.estimates) == ["mean_tension_over_time"]
    mean = found.estimates["mean_tension_over_time"]
    assert mean.value == pytest.approx(PULL, abs=3 * mean.u)


def test_few_slack_readings_in_two_groups_are_no_spikes() -> None:
    """Four of six lie within 2 mN: the two others are noise, and the zero is the mean of all."""
    values = np.array([0.014, -0.016, -0.013, 0.014, 0.016, 0.014])
    kept, far = without_spikes(Readings(time=np.arange(6) / 50, values=values), 0)
    assert (len(kept.time), far) == (6, ())


def test_the_zero_of_a_few_readings_is_as_certain_as_their_number_says() -> None:
    """Noise σ of neighbours that share nothing: σ/√n for n readings of the slack string, though so
    few can't tell by themselves that they share nothing.
    """
    true, sigma, found = path(rate=50), 0.01, []
    settings = Settings(tare=Tare(zero=Zero.SLACK))
    random, n = np.random.default_rng(3), len(true.time)
    moving = record(true, velocity=true.velocity + random.normal(0, 0.001, n))
    motion = find_run(moving)
    assert motion.run.coasting is not None
    begin, end = motion.run.coasting
    inside = (true.time >= begin + 0.3 * (end - begin)) & (true.time <= end)
    for _ in range(80):
        given = record(true, force=true.force + random.normal(0, sigma, n))
        pulled = pull_in(given, motion.run, motion.estimates, settings)
        assert pulled is not None
        found.append(pulled.offset_u)
    claimed = float(np.sqrt(np.mean(np.square(found))))
    assert claimed == pytest.approx(sigma / np.sqrt(inside.sum()), rel=0.09)
