"""A page of somebody's own that would fetch something from another host isn't published."""

from pathlib import Path

import pytest
import yaml

from fallwork.site.elsewhere import in_markup, require_file_fetches_nothing
from fallwork.site.errors import PublicationError

A = "https://pictures.example.org/a"
CASES = yaml.safe_load(Path(__file__).with_name("leaks.yaml").read_text("utf-8"))


@pytest.mark.parametrize("text", CASES["fetched"])
def test_what_is_fetched_is_found(text: str) -> None:
    assert list(in_markup(text))


@pytest.mark.parametrize("text", CASES["followed"])
def test_what_is_only_followed_or_said_is_let_through(text: str) -> None:
    assert list(in_markup(text)) == []


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("a.css", f"@import url({A});"),
        ("a.svg", f"<svg><image href='{A}'/></svg>"),
        ("a.html", f"<img src={A}>"),
        ("a.js", f"importScripts('{A}')"),
    ],
)
def test_files_beside_the_pages_are_looked_at(tmp_path: Path, name: str, text: str) -> None:
    (tmp_path / name).write_text(text)
    with pytest.raises(PublicationError, match="would be fetched from elsewhere"):
        require_file_fetches_nothing(tmp_path / name, ())
    require_file_fetches_nothing(tmp_path / name, [A])
