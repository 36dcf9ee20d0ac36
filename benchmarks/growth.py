"""How the answer key and the reading of records grow with what they are given.

Run with ``python benchmarks/growth.py``. Each line gives processor time and memory as ratios to the
smaller case beside it; a key that listed every choice of system would double with each object.
"""

import sys
from pathlib import Path
from tempfile import TemporaryDirectory

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from measured import used

from democourse import long_train

READINGS = (20_000, 200_000)
CARTS = (2, 8, 18)


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
                now = used("fallwork", *words)
                first = first or now
                ratios = f"{now.cpu / first.cpu:.1f} and {now.memory / first.memory:.1f}"
                taken = f"{now.cpu:.2f} s, {now.memory:.0f} MiB"
                print(f"{words[0]}, {size} {what}: {taken}; {ratios} times the first")


if __name__ == "__main__":
    main()
