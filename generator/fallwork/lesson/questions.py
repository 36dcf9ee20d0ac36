"""Questions that students put: read from the questions file, each at the step that answers it."""

from typing import Any

from fallwork.lesson.context import Context
from fallwork.lesson.document import Question
from fallwork.lesson.trees import product
from fallwork.lesson.words import Part, fill, texts, the


def questions_for(context: Context, topic: str) -> tuple[Question, ...]:
    """The questions of one topic that this set-up raises."""
    if not context.is_plain or not context.moves_freely:
        return ()
    return tuple(
        _question(entry, context)
        for entry in texts("questions")
        if entry["topic"] == topic and is_raised(entry, context)
    )


def is_raised(entry: Any, context: Context) -> bool:
    """Whether the set-up has what a question or slip is about."""
    needs = str(entry.get("needs", "")).split()
    facts = {
        "friction": context.rubs,
        "level": not context.setting.slope(context.slider),
        "slope": bool(context.setting.slope(context.slider)),
        "falling": context.setting.senses[context.weight] > 0,
    }
    return all(facts[need] for need in needs)


def _question(entry: Any, context: Context) -> Question:
    names = context.names
    work = product(names.tension(context.string, context.slider), names.distance)
    parts: dict[str, Part] = {
        "the_slider": the(context.slider),
        "the_weight": the(context.weight),
        "the_surface": the(context.surface),
        "g": names.gravity,
        "T": names.tension(context.string, context.weight),
        "gravity_on_weight": context.motion.gravity_on(context.weight),
        "plus": work,
        "minus": -work,
    }
    return Question(id=entry["id"], asked=entry["asked"], answer=fill(entry["answer"], **parts))
