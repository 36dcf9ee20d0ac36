"""How the answer key and the reading of records grow with what they are given.

Run with ``python benchmarks/growth.py``. Each line gives processor time and memory as ratios to the
smaller case beside it; a key that listed every choice of system would double with each object.
"""

import json
import subprocess
import sys
from pathlib import Path
from tempfile import TemporaryDirectory

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from longtrain import long_train

MEASURED = """
import json, resource, sys
sys.argv[0] = "fallwork"
from fallwork.cli import main
main(standalone_mode=False)
used = resource.getrusage(resource.RUSAGE_SELF)
sys.stderr.write(json.dumps([used.ru_utime + used.ru_stime, used.ru_maxrss / 1024]))
"""
READINGS = (20_000, 200_000)
CARTS = (2, 8, 18)


def measured(*words: str) -> tuple[float, float]:
    """Processor time, s, and memory, MiB, of one command."""
    done = subprocess.run(
        [sys.executable, "-c", MEASURED, *words], capture_output=True, text=True, check=True
    )
    seconds, memory = json.loads(done.stderr)
    return seconds, memory


def record(readings: int) -> str:
    """Held, driven, coasting for 3 s in all, with this many readings."""
    import numpy as np

    random = np.random.default_rng(1)
    time = np.linspace(0, 3, readings)
    since = time - 1
    speed = 1.5 * np.clip(since, 0, 0.9) - 0.08 * np.clip(since - 0.9, 0, None)
    position = np.concatenate([[0], np.cumsum(np.diff(time) * (speed[1:] + speed[:-1]) / 2)])
    noisy = (
        time,
        position + random.normal(0, 3e-4, readings),
        speed + random.normal(0, 0.01, readings),
    )
    rows = (",".join(f"{value:.6f}" for value in row) for row in zip(*noisy, strict=True))
    return "\n".join(["t (s),x (m),v (m/s)", *rows, ""])


def main() -> None:
    """Print a line a case."""
    with TemporaryDirectory() as folder:
        cases: list[tuple[str, list[tuple[str, ...]]]] = [("objects", []), ("readings", [])]
        for carts in CARTS:
            file = Path(folder) / f"train-{carts}.yaml"
            file.write_text(long_train(carts), "utf-8")
            cases[0][1].append(("key", str(file), "--json"))
        for readings in READINGS:
            file = Path(folder) / f"record-{readings}.csv"
            file.write_text(record(readings), "utf-8")
            cases[1][1].append(("trials", str(file)))
        sizes = {"objects": [carts + 2 for carts in CARTS], "readings": list(READINGS)}
        for what, commands in cases:
            first = None
            for size, words in zip(sizes[what], commands, strict=True):
                seconds, memory = measured(*words)
                first = first or (seconds, memory)
                ratios = f"{seconds / first[0]:.1f} and {memory / first[1]:.1f} times the first"
                print(f"{words[0]}, {size} {what}: {seconds:.2f} s, {memory:.0f} MiB; {ratios}")


if __name__ == "__main__":
    main()
