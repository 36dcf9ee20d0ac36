"""What is wrong with pages, files and settings of the author's own, or gives an answer away, is
told with its place and a remedy, and changes nothing. The cases stand in ``refused.yaml``.
"""

import re
from pathlib import Path
from typing import Any

import pytest
import yaml

from democourse import NOW, Pages, bytes_below, exchange
from fallwork.site.audit import AuditError
from fallwork.site.errors import PublicationError
from fallwork.site.publication import publish

CASES: dict[str, dict[str, Any]] = yaml.safe_load(
    Path(__file__).with_name("refused.yaml").read_text("utf-8")
)
HOME = "---\ntitle: Home\nnav: true\n---\n\n# Home\n\n{}\n"


def place(root: Path, file: str, text: str) -> str:
    content = (root / file).read_text("utf-8")
    before = content[: content.index(text)]
    return f"{root / file}:{before.count(chr(10)) + 1}:{len(before) - before.rfind(chr(10))}"


@pytest.mark.parametrize("name", CASES)
@pytest.mark.usefixtures("held")
def test_it_is_told_and_changes_nothing(
    name: str, config_file: Path, pages: Pages, published: Path
) -> None:
    case, root = CASES[name], config_file.parent
    pages |= {page: HOME.format(text) for page, text in case.get("course", {}).items()}
    for file, text in case.get("written", {}).items():
        (root / file).parent.mkdir(parents=True, exist_ok=True)
        (root / file).write_text(text, "utf-8")
    for file, (old, new) in case.get("exchanged", {}).items():
        exchange(root / file, old, new.replace("{folder}", str(root)))
    for file, text in case.get("added", {}).items():
        (root / file).write_text(f"{(root / file).read_text('utf-8')}{text}", "utf-8")
    for file in case.get("removed", ()):
        (root / file).unlink()
    before = bytes_below(root)
    with pytest.raises(PublicationError) as caught:
        publish(config_file, now=NOW)
    told = str(caught.value)
    words = case["tells"] if "tells" in case else [case["says"]]
    expected = [
        re.sub(r"<(\S+\.\w+) ([^>]+)>", lambda found: place(root, *found.groups()), each)
        for each in words
    ]
    expected = [each.replace("{folder}", str(root)) for each in expected]
    if "says" in case:
        assert set(told.splitlines()) == set(expected[0].splitlines())
    assert [each for each in expected if each not in told and "tells" in case] == []
    assert bytes_below(root) == before


@pytest.mark.usefixtures("held")
def test_an_answer_that_is_none_is_declared_and_one_for_staff_is_none(
    config_file: Path, published: Path
) -> None:
    page = config_file.parent / "content" / "reading.md"
    page.write_text(page.read_text("utf-8") + "\nYou get 0.664 N.\n", "utf-8")
    publish(config_file, edition="staff", now=NOW)
    with pytest.raises(AuditError) as caught:
        publish(config_file, now=NOW)
    *told, remedy = str(caught.value).splitlines()
    assert told == [
        "The site would give away what is held back, so it isn't published:",
        f'{place(config_file.parent, "content/reading.md", "0.664 N")}: "0.664 N", which is '
        "tension; held back: the solution of level in term",
        "Take it out there, or publish again once it is open.",
    ]
    said, _, entry = remedy.partition(": harmless: ")
    assert said.endswith(", below fallwork, in place of the entry harmless that stands there")
    text = config_file.read_text("utf-8")
    before, after = text.index("harmless:"), text.index("markdown_extensions:")
    config_file.write_text(f"{text[:before]}harmless: {entry}\n\n{text[after:]}", "utf-8")
    publish(config_file, now=NOW)


def test_what_is_fetched_may_be_allowed(config_file: Path, published: Path) -> None:
    page = config_file.parent / "content/reading.md"
    page.write_text(f"{page.read_text('utf-8')}\n![A cart](https://a.example.org/a)\n", "utf-8")
    exchange(config_file, "harmless:", "elsewhere: [https://a.example]\n      harmless:")
    publish(config_file, now=NOW)


def test_a_draft_may_say_what_is_held_back(content: Path, held: None) -> None:
    draft, settings = content / "later.md", content.parent / "mkdocs.yml"
    draft.write_text("# Later\n\nThe tension is 0.664 N.\n", "utf-8")
    with pytest.raises(AuditError):
        publish(settings, now=NOW)
    settings.write_text(f"draft_docs: later.md\n{settings.read_text('utf-8')}", "utf-8")
    assert not (publish(settings, now=NOW).site / "later.html").exists()
