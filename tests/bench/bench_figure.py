"""How long figures take, as ratios within one run: python -m tests.bench.bench_figure [--rounds N].

The yardstick is that of the sheet's bench. A still is warm: shapes and numpy are loaded, the pose is at hand.
"""

from __future__ import annotations

import argparse

from homecare.figure.moving import moving_svg
from homecare.figure.picture import panels
from tests.bench.bench_sheet import least, yardstick
from tests.figure.drawings import BENT, CALF, HAMSTRING, LUNGE, SCIATIC, STRAIGHT, ankle_path, on_the_way, scene

BOX = (42.0, 42.0)


def main() -> int:
    """Print each drawing in milliseconds and in yardsticks."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=20)
    rounds = parser.parse_args().rounds
    way = on_the_way(BENT, STRAIGHT)
    two = scene(STRAIGHT, BENT, targets=(HAMSTRING, SCIATIC), arrows=(ankle_path(),))
    works = {
        "still, from the side": lambda: panels(scene(LUNGE, targets=(CALF,)), BOX),
        "still, from above": lambda: panels(scene(LUNGE, view=(-50, 30), targets=(CALF,)), BOX),
        "close-up of a hand": lambda: panels(scene(LUNGE, crop="right_hand"), BOX),
        "start and end with an arrow": lambda: panels(two, BOX),
        "moving figure of five poses": lambda: moving_svg(way, two, BOX, "x"),
    }
    unit = least(rounds, yardstick)
    print(f"{'yardstick':32}{unit * 1e3:8.1f} ms")
    for name, work in works.items():
        took = least(rounds, work)
        print(f"{name:32}{took * 1e3:8.1f} ms {took / unit:8.3f} yardsticks")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
