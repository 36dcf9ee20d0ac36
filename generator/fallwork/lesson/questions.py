"""Questions that students put: read from the questions file, each at the step that answers it.

Takes a context; gives the questions of a topic that the set-up raises.
"""

from dataclasses import dataclass
from functools import cached_property

from fallwork.lesson.catalogues import Entry, Facts, Vocabulary, entries, known, raised
from fallwork.lesson.context import Context
from fallwork.lesson.document import Question
from fallwork.lesson.roles import facts_of, words_of
from fallwork.lesson.words import fill


@dataclass(frozen=True)
class Questions:
    """The questions of one lesson."""

    context: Context

    @cached_property
    def _facts(self) -> Facts:
        return facts_of(self.context)

    def at(self, topic: str) -> tuple[Question, ...]:
        """The questions of one topic that this set-up raises."""
        return tuple(self._question(entry) for entry in raised(self._entries, topic, self._facts))

    @cached_property
    def _entries(self) -> tuple[Entry, ...]:
        vocabulary = Vocabulary(
            keys=("id", "topic", "asked", "answer"),
            topics=known("worked", "topics"),
            needs=self._facts.known,
            fields=known("worked", "fields"),
        )
        return entries("questions", vocabulary)

    def _question(self, entry: Entry) -> Question:
        parts = words_of(self.context)
        asked = "".join(str(part) for part in fill(entry["asked"], **parts))
        return Question(id=entry["id"], asked=asked, answer=fill(entry["answer"], **parts))
