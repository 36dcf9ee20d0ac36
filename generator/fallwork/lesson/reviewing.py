"""A lab's numbers in words, for those who choose them: what happens in a run, where two runs part
ways, and the review of its design with advice.

Takes numbers with local gravity, and findings of the planning stage; gives sentences and rows.
"""

from collections.abc import Sequence
from functools import cached_property

import numpy as np

from fallwork.lesson.lab.setup import Setup
from fallwork.lesson.lab.things import those
from fallwork.lesson.measured.words import given_in_words
from fallwork.lesson.rounding import to_figures
from fallwork.lesson.words import told, upper_first
from fallwork.measurement.prediction import GRAVITY, driven_phases, view_of
from fallwork.mechanics import apparatus_of, solve
from fallwork.planning.conditions import Finding
from fallwork.scenario import Scenario
from fallwork.scenario.nouns import Nouns

_ALIKE = 1e-9  # relative: paths that differ by less are of one length


class Happening(Setup):
    """A run and its sentence."""

    # Strings that never pull before the driven part ends, those of which the set-up leaves the
    # tension open, and those whose tension is known and not zero all the time.
    slack = those(
        "apparatus.strings", lambda run, s: all(s in each.phase.slack for each in run.parts)
    )
    open = those(
        "apparatus.strings",
        lambda run, s: any(None in each.phase.segment_tensions[s] for each in run.parts),
    )
    pulling = those("apparatus.strings", lambda run, s: s not in (*run.slack, *run.open))

    def says(self, what: str, *of: object) -> tuple[str, ...]:
        """In words what happens, with numbers (the ``sentence``), where the run ends ``short`` of
        its distance, where it is ``otherwise`` than another one, whose that is told as well.
        """
        return told("happens", what, self, *of)

    @cached_property
    def parts(self) -> tuple[Setup, ...]:
        """The run from the release to the end of its driven part, phase by phase."""
        return tuple(map(self.at, range(len(driven_phases(self.solution)))))

    @cached_property
    def watched(self) -> tuple[str, ...]:
        """One of each group that moves alike: first the object that sensors watch."""
        first = view_of(self.scenario).moving
        found: dict[tuple[float, ...], str] = {}
        for name in dict.fromkeys([first, self.apparatus.run.object, *self.bodies]):
            paths = tuple(_path(part, name) for part in self.parts)
            alike = (np.allclose(paths, known, rtol=_ALIKE, atol=0.0) for known in found)
            if any(paths) and not any(alike):
                found[paths] = name
        return tuple(found.values())

    @property
    def way(self) -> tuple[int, ...]:
        """In which sense the watched object goes, part by part."""
        return tuple(part.ways[self.watched[0]] for part in self.parts)

    def pulls_alike(self, part: Setup, string: str) -> bool:
        """Whether a string pulls equally all along, as far as the printed figures tell."""
        return len({self.amount(each, "N") for each in part.phase.segment_tensions[string]}) == 1

    def amount(self, value: float | None, unit: str) -> str:
        """A result as it is printed."""
        return f"{to_figures(value or 0.0, self.figures)} {unit}"


def happening(scenario: Scenario, gravity: float, figures: int) -> Happening:
    """What happens in a set-up; ``figures`` are those of results."""
    apparatus = apparatus_of(scenario, gravity)
    return Happening(scenario, apparatus, solve(apparatus), figures, numbers=True)


def _path(part: Setup, name: str) -> float:
    """How far an object goes in a part, m; where nothing ends it, what its motion is like."""
    path = part.path(name)
    if path is not None:
        return path
    return abs(part.phase.accelerations.get(name, 0.0)) or part.first_speed(name)


# ---- the design of the numbers


def rows(findings: Sequence[Finding], nouns: Nouns) -> tuple[tuple[str, ...], ...]:
    """Every finding with its value, what would be good, and the verdict."""
    cells = ([_words(each, key, nouns) for key in ("what", "here")] for each in findings)
    shown = zip(cells, map(_limits, findings), strict=True)
    return tuple(told("reviewing", "row", *words, *limits) for words, limits in shown)


def advice(findings: Sequence[Finding], nouns: Nouns) -> tuple[str, ...]:
    """What to change, a few sentences for each finding that doesn't fit."""
    wrong = (each for each in findings if each.verdict != "fits")
    return tuple(_words(each, f"too-{each.verdict}", nouns) for each in wrong)


def _limits(finding: Finding) -> tuple[str, ...]:
    """Both as they are printed, "" for none, and the verdict."""
    ends = (finding.row.get(end) for end in ("low", "high"))
    shown = ("" if end is None else _amount(finding, float(end), "%g") for end in ends)
    return (*shown, finding.verdict)


def _words(finding: Finding, key: str, nouns: Nouns) -> str:
    of = finding.of  # advice says in words on which side of the limit a value lies
    here, size = (_amount(finding, value) for value in (finding.value, abs(finding.value)))
    value = here if key == "here" else size
    it = nouns.the(of) if of in nouns.by_name else of
    cause = given_in_words(of, nouns) if "." in of or of == GRAVITY else of
    said = str(finding.row.get(key, "{value}")).format(
        it=it, It=upper_first(it), value=value, here=here, cause=cause
    )
    return upper_first(said.replace(" ()", ""))


def _amount(finding: Finding, value: float, form: str = "") -> str:
    """In the unit of the condition, to two figures or in a ``form`` of its own."""
    unit = finding.row.get("unit", "")
    size = 100 * value if unit == "%" else value
    whole = size == 0 or not unit or (unit == "%" and abs(size) >= 10)
    form = form or ("%.0f" if whole else "")
    return f"{form % size if form else to_figures(size, 2)}\u00a0{unit}".rstrip()


def doubt_in_words(kind: str, *of: object) -> str:
    """That a ``number`` or a ``date`` can hardly be meant, or that there are ``no_trials``."""
    return "".join(told("reviewing", kind, *of))
