"""The same input gives the same bytes, whatever surrounds the program."""

import os
import subprocess
import sys
from pathlib import Path

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


def test_hash_seed_time_zone_and_locale_change_nothing() -> None:
    plain = run(DRAW, PYTHONHASHSEED="0", TZ="UTC", LC_ALL="C")
    other = run(DRAW, PYTHONHASHSEED="4711", TZ="Pacific/Auckland", LC_ALL="C.UTF-8")
    assert other == plain
