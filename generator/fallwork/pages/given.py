"""A lab together with the term in which it is given: what most pages are about."""

from dataclasses import dataclass

from fallwork.scenario import Lab, Term


@dataclass(frozen=True, kw_only=True)
class GivenLab:
    """A lab of a term."""

    term: Term
    lab: Lab

    @property
    def key(self) -> tuple[str, str]:
        """The ids of term and lab."""
        return self.term.id, self.lab.id

    @property
    def folder(self) -> str:
        """Where its pages stand, e.g. ``2027-spring/level-track``."""
        return f"{self.term.id}/{self.lab.id}"

    @property
    def title(self) -> str:
        """Its title; with its id where another lab of the term has the same."""
        titles = [each.title for each in self.term.labs]
        alone = titles.count(self.lab.title) == 1
        return self.lab.title if alone else f"{self.lab.title} ({self.lab.id})"
