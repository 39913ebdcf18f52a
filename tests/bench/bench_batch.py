"""How long many sheets take on two cores beside one, and whether memory stays flat: python -m tests.bench.bench_batch.

Each line is a batch in a process of its own, whose workers' largest memory is read when they have ended. The visits are
the rower's, each with another name and first day, so that no sheet is another's.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import tempfile
from datetime import date, timedelta
from pathlib import Path

ROWER = Path(__file__).parents[1] / "data" / "rower.yaml"
BATCH = (
    "import sys, time, resource; from pathlib import Path;"
    "from homecare.workflow.batch import Settings, find_visits, make_batch;"
    "start = time.perf_counter();"
    "made = [one.state for one in make_batch(find_visits([Path(sys.argv[1])]), Settings(Path(sys.argv[2])),"
    " int(sys.argv[3]))];"
    "print(time.perf_counter() - start, resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss, made.count('made'))"
)


def batch(count: int, workers: int) -> tuple[float, float]:
    """Seconds of a batch, and the memory in MB of its largest worker."""
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place) / "visits"
        folder.mkdir()
        for number in range(count):
            start = date(2026, 5, 4) + timedelta(days=number % 60)
            text = (
                ROWER.read_text()
                .replace("2026-05-04", str(start))
                .replace("2026-05-07", str(start + timedelta(days=3)))
                .replace("Ansel D.", f"Ansel {number}")
            )
            (folder / f"visit_{number:04}.yaml").write_text(text)
        done = subprocess.run(
            [sys.executable, "-c", BATCH, str(folder), f"{place}/out", str(workers)],
            capture_output=True,
            text=True,
            check=True,
        )
    seconds, memory, made = done.stdout.split()
    if int(made) != count:
        raise SystemExit(f"only {made} of {count} sheets were made")
    return float(seconds), int(memory) / 1024


def main() -> int:
    """Print seconds, sheets a second and memory of each batch, and how much faster two workers are than one."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sheets", type=int, default=200)
    count = parser.parse_args().sheets
    print(f"{'sheets':>8}{'workers':>9}{'s':>8}{'ms a sheet':>12}{'worker, MB':>12}")
    taken = {}
    for sheets, workers in ((count // 4, 2), (count, 2), (count, 1)):
        seconds, memory = batch(sheets, workers)
        taken[sheets, workers] = seconds
        print(f"{sheets:>8}{workers:>9}{seconds:>8.0f}{seconds / sheets * 1000:>12.0f}{memory:>12.0f}", flush=True)
    print(f"two workers: {taken[count, 1] / taken[count, 2]:.2f} times as fast as one")
    return 0


if __name__ == "__main__":
    sys.exit(main())
