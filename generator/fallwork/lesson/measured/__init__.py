"""Measuring as data for pages: takes a set-up and its trials; gives lessons about them.

What to do at the bench and to hand in, the trials with how each value was got, and the trials
against the model. Knows nothing of Markdown, files or where a page stands.
"""

from fallwork.lesson.measured.build import data_lesson, quality, report_lesson, with_comparison
from fallwork.lesson.measured.evidence import Evidence, Judgement

__all__ = ["Evidence", "Judgement", "data_lesson", "quality", "report_lesson", "with_comparison"]
