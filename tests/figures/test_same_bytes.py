"""The same input gives the same bytes, whatever surrounds the program."""

import os
import subprocess
import sys
from pathlib import Path

from matplotlib import rc_context, rcParams

from figures.setups import setup

ROOT = Path(__file__).parents[2]
DRAW = """
import hashlib
from figures.setups import sample
kinds = [("sketch", ""), ("diagram", "cart"), ("motion", ""), ("energy-bars", "all-moving")]
print(hashlib.sha256("".join(sample(*kind).svg for kind in kinds).encode()).hexdigest())
"""


def run(code: str, **surroundings: str) -> str:
    path = os.pathsep.join([str(ROOT / "tests"), str(ROOT / "generator")])
    done = subprocess.run(
        [sys.executable, "-c", code],
        env={**os.environ, "PYTHONPATH": path, **surroundings},
        capture_output=True,
        text=True,
        check=True,
    )
    return done.stdout.strip()


def test_hash_seed_time_zone_locale_and_the_user_s_settings_change_nothing(tmp_path: Path) -> None:
    settings = tmp_path / "matplotlibrc"
    settings.write_text("font.size: 17\nsvg.fonttype: none\nlines.linewidth: 9\naxes.grid: True\n")
    plain = run(DRAW, PYTHONHASHSEED="0", TZ="UTC", LC_ALL="C")
    other = run(
        DRAW,
        PYTHONHASHSEED="4711",
        TZ="Pacific/Auckland",
        LC_ALL="C.UTF-8",
        MATPLOTLIBRC=str(settings),
        MPLBACKEND="pdf",
    )
    assert other == plain


def test_drawing_leaves_the_user_s_settings_as_they_were() -> None:
    with rc_context({"font.size": 17}):
        setup("held").draw("sketch")
        assert (rcParams["font.size"], rcParams["svg.hashsalt"]) == (17.0, None)


def test_the_plotting_library_is_loaded_only_to_draw() -> None:
    code = "import sys, fallwork.figures; print('matplotlib' in sys.modules)"
    assert run(code) == "False"
