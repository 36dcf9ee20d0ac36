"""Every equation of the really built demo course is re-evaluated; one changed digit shows.

The course is built for a moment when everything is open. Pages in symbols only are evaluated with
the values of the worked example of the same lab.
"""

from collections.abc import Iterator
from pathlib import Path

from equations.checker import Check, check_page, values_of
from equations.mutants import mutants

EVERY = 120  # of the digits of the sample page one in so many is changed


def lesson_pages(site: Path) -> Iterator[tuple[str, dict[str, float] | None]]:
    for page in sorted(site.glob("*/*/*.html")):
        if page.parts[-3] == "step" or page.name in ("index.html", "bench.html", "report.html"):
            continue
        example = page.with_name("example.html").read_text(encoding="utf-8")
        values = values_of(example) if page.name == "prelab.html" else None
        yield page.read_text(encoding="utf-8"), values


def test_every_equation_of_every_page_holds_and_no_page_is_without(everything_open: Path) -> None:
    checks = [Check(*page) for page in lesson_pages(everything_open)]
    assert [found for check in checks for found in check.findings] == []
    assert len(checks) >= 36
    assert min(check.compared for check in checks) > 3


def test_a_changed_digit_is_found_on_a_built_page(everything_open: Path) -> None:
    html = next(everything_open.glob("*/level-track/solution.html")).read_text(encoding="utf-8")
    changed = list(mutants(html, every=EVERY))
    assert len(changed) > 6
    assert [what for what, mutant in changed if not check_page(mutant)] == []
