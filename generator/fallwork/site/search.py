"""The search, made to work from a folder as well as from a server.

Takes the built site; adds to it. A page read from a folder may not fetch the index, but it may
load it as a script: the theme looks for this one.
"""

from pathlib import Path


def write_script(site: Path) -> None:
    """Write ``search/search_index.js`` beside the index of the built ``site``, if it has one."""
    index = site / "search" / "search_index.json"
    if index.is_file():
        script = f"var __index = {index.read_text(encoding='utf-8')}"
        index.with_suffix(".js").write_text(script, encoding="utf-8")
