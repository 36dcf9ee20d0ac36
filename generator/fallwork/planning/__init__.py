"""Planning: takes the numbers of a lab; gives what follows from them for choosing others.

Which results a set of numbers has, whether they give clean data, a worked example whose results
aren't those of the lab, whether a lab is still what was published of it, and which of its results
can be read elsewhere.
Knows nothing of pages.
"""

from fallwork.planning.examples import NoExampleError, example_in, example_of
from fallwork.planning.plausible import (
    DateDoubt,
    Doubt,
    doubtful_dates,
    doubts,
    doubts_of_course,
)
from fallwork.planning.published import ChangedError, check_published, published_by
from fallwork.planning.results import Result, force_in_words, results_of
from fallwork.planning.revealed import Revealed, RevealedError, check_revealed, revealed
from fallwork.planning.review import USUAL_RATE, Aspect, Finding, Verdict, review

__all__ = [
    "USUAL_RATE",
    "Aspect",
    "ChangedError",
    "DateDoubt",
    "Doubt",
    "Finding",
    "NoExampleError",
    "Result",
    "Revealed",
    "RevealedError",
    "Verdict",
    "check_published",
    "check_revealed",
    "doubtful_dates",
    "doubts",
    "doubts_of_course",
    "example_in",
    "example_of",
    "force_in_words",
    "published_by",
    "results_of",
    "revealed",
    "review",
]
