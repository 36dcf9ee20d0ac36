"""Ten records of 2,000 samples, read from CSV and analysed: less than a second of CPU time.

Run with ``python benchmarks/trials.py``; it ends with status 1 where the limit is passed.
"""

import sys
from pathlib import Path
from tempfile import TemporaryDirectory
from time import process_time

import numpy as np

from fallwork.measurement.analysis import analyse
from fallwork.measurement.records import read_all
from fallwork.measurement.settings import Settings, Tare, Zero

RECORDS, SAMPLES, LIMIT = 10, 2000, 1.0  # , , s


def text(seed: int) -> str:
    """Held, driven with 1.5 m/s² for 0.9 s, coasting, for 3 s in all."""
    random = np.random.default_rng(seed)
    time = np.linspace(0, 3, SAMPLES)
    since = time - 1
    speed = 1.5 * np.clip(since, 0, 0.9) - 0.08 * np.clip(since - 0.9, 0, None)
    position = np.concatenate([[0], np.cumsum(np.diff(time) * (speed[1:] + speed[:-1]) / 2)])
    force = np.where(since < 0, 0.78, np.where(since < 0.9, 0.66, 0.0))
    columns = (
        time,
        position + random.normal(0, 0.0003, SAMPLES),
        speed + random.normal(0, 0.01, SAMPLES),
        force + random.normal(0, 0.01, SAMPLES),
    )
    rows = (",".join(f"{value:.5f}" for value in row) for row in zip(*columns, strict=True))
    return "\n".join(["t (s),x (m),v (m/s),F (N)", *rows, ""])


def main() -> int:
    """Prints the time taken."""
    with TemporaryDirectory() as folder:
        files = [Path(folder) / f"trial-{at:02d}.csv" for at in range(RECORDS)]
        for at, file in enumerate(files):
            file.write_text(text(at), encoding="utf-8")
        analyse(read_all(files[:1]))  # loads what is loaded once
        begin = process_time()
        analysis = analyse(read_all(files), Settings(tare=Tare(zero=Zero.SLACK)))
        taken = process_time() - begin
    print(f"{len(analysis.trials)} records of {SAMPLES} samples: {taken:.2f} s of CPU time")
    return int(taken > LIMIT)


if __name__ == "__main__":
    sys.exit(main())
