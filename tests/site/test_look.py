"""The colours of the page, and what is taken along."""

import re
from pathlib import Path

from fallwork.figures.palette import palette
from fallwork.site import look


def test_every_colour_of_the_figures_is_a_variable_of_the_page() -> None:
    css = look.colours()
    for role in palette().values():
        assert f"--fw-{role.name}: {role.light};" in css
        assert f"--fw-{role.name}: {role.dark};" in css


def test_styles_use_no_colour_that_the_palette_does_not_define() -> None:
    used = set(re.findall(r"var\(--fw-([a-z0-9-]+)", _styles()))
    assert used <= set(palette())


def test_styles_and_scripts_name_no_other_host() -> None:
    assert re.findall(r"https?:|//[a-z]", _styles()) == []


def test_the_font_lies_beside_its_licence() -> None:
    fonts = look.ASSETS / "fonts"
    # The signature of WOFF2: W3C, WOFF File Format 2.0, section 4.1 (from memory).
    assert (fonts / "stix-two-math.woff2").read_bytes()[:4] == b"wOF2"
    assert "SIL OPEN FONT LICENSE Version 1.1" in (fonts / "OFL.txt").read_text("utf-8")


def test_the_index_is_also_a_script(tmp_path: Path) -> None:
    (tmp_path / "search").mkdir()
    (tmp_path / "search" / "search_index.json").write_text('{"docs":[]}')
    look.write_script(tmp_path)
    script = (tmp_path / "search" / "search_index.js").read_text()
    assert script == 'var __index = {"docs":[]}'


def test_a_site_without_search_needs_no_script(tmp_path: Path) -> None:
    look.write_script(tmp_path)
    assert list(tmp_path.iterdir()) == []


def _styles() -> str:
    files = sorted([*look.ASSETS.glob("*.css"), *look.ASSETS.glob("*.js")])
    assert len(files) == 6
    return "".join(file.read_text("utf-8") for file in files)
