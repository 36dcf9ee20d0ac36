"""What staff read of the trials: how they scatter, and what is odd about single ones."""

from dataclasses import replace

from fallwork.lesson.document import Step
from fallwork.lesson.measured import Evidence, quality
from fallwork.measurement.model import Analysis
from lesson.measured import kit
from lesson.measured.kit import judged, level, prose, trials, usual
from lesson.measured.test_data import of, typed


def noted(evidence: Evidence) -> Step:
    return quality(kit.context(level(), numbers=True), evidence)[0]


def told(evidence: Evidence) -> list[str]:
    return prose(noted(evidence)).split("\n")[1:]  # behind what the columns mean


def row(evidence: Evidence, name: str) -> list[str]:
    (one,) = (each for each in kit.tables(noted(evidence))[0] if each[0] == name)
    return one


def with_first(analysis: Analysis, **changes: object) -> Analysis:
    """The first trial otherwise."""
    first, *others = analysis.trials
    return replace(analysis, trials=(replace(first, **changes), *others))


def test_the_scatter_is_that_of_single_trials_by_hand() -> None:
    # 1.49, 1.50, 1.51: s = 0.01, of the mean 0.67 %; u = s/√3 = 0.0058
    found = row(of(typed(1.49, 1.50, 1.51)), "Acceleration")
    assert found == [
        "Acceleration",
        "3",
        "1.5000 m/s² ± 0.0058 m/s²",
        "0.010 m/s²",
        "0.67 %",
        "",
        "",
    ]


def test_typed_values_have_no_record_and_few_trials_a_larger_factor() -> None:
    # Student's t for 95 % and 2 degrees of freedom is 4.303 (tables; from memory)
    assert told(of(typed(1.49, 1.50, 1.51))) == [
        "3 of 3 trials count.",
        "The values were typed in, so there is no record to look into.",
        "3 trials are few: the interval of a mean is 4.30 standard uncertainties to either side "
        "instead of 2.",
    ]


def test_an_excluded_trial_is_told_with_its_reason_and_what_it_does() -> None:
    found = told(of(typed(1.49, 1.50, 1.51, 2.00, excluded="4")))
    assert found[0] == "3 of 4 trials count."
    assert "Trial 4 doesn't count: the cable dragged." in found
    assert (
        "Without the excluded trials the acceleration is 1.5000 m/s² ± 0.0058 m/s²; with them it "
        "would be 1.62 m/s² ± 0.13 m/s²."
    ) in found


def test_a_trial_far_off_is_named() -> None:
    evidence = of(typed(1.49, 1.50, 1.51, 1.50, 1.49, 1.51, 2.00))
    assert row(evidence, "Acceleration")[-1] == "7"
    assert (
        "Trial 7 stands far off in the acceleration. It counts all the same; look into its record "
        "before you exclude it."
    ) in told(evidence)


def test_a_window_by_hand_is_named() -> None:
    by_hand = with_first(trials(), window=(0.5, 1.4), window_by_hand=True)
    assert "Trial trial-01: its window was set by hand, 0.500 s to 1.400 s." in told(
        judged(level(), by_hand)
    )


def test_trials_that_scatter_more_than_their_records_are_told() -> None:
    calm = usual()
    first, *others = calm.analysis.trials
    wild = [
        replace(
            each,
            estimates={
                name: replace(one, u=one.u / (10 if name == "acceleration" else 1))
                for name, one in each.estimates.items()
            },
        )
        for each in (first, *others)
    ]
    found = told(replace(calm, analysis=replace(calm.analysis, trials=tuple(wild))))
    assert not [each for each in told(calm) if "as much as a single record" in each]
    assert [each for each in found if each.startswith("The acceleration scatters ")]


def test_agreement_and_disagreement_with_the_prediction_are_told() -> None:
    assert told(usual())[-1] == "The means agree with the prediction within their uncertainties."
    other = judged(level(("weight.mass", "100.0 g ± 0.1 g")), trials())
    assert [each for each in told(other) if each.startswith("The acceleration differs from ")]


def test_what_was_assumed_of_the_records_is_there() -> None:
    assumed = prose(quality(kit.context(level(), numbers=True), usual())[1])
    assert "All trials: motion from the positions" in assumed
