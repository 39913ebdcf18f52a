"""How long the library's pages take, step by step: python -m tests.bench.bench_shelf."""

from __future__ import annotations

import tempfile
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path

from homecare.desk.form import Form
from homecare.desk.shelf_form import Names, drill_form
from homecare.desk.shelf_trial import drawn, judged
from homecare.library import upkeep
from homecare.library.load import load_library

DRILLS = ("soleus_wall_stretch", "median_slider", "knee_to_wall")


def timed(words: str, what: Callable[[], object]) -> None:
    start = time.perf_counter()
    what()
    print(f"{(time.perf_counter() - start) * 1000:7.0f} ms  {words}")


def main() -> None:
    timed("the library, read for the first time", load_library)
    timed("the library, read again: only the clinic's own files are", load_library)
    library = load_library()
    names = Names(library)
    for key in DRILLS:
        content = library.entries["drills", key].content
        form = drill_form(content, names)
        for degrees in ("31", "32"):
            bent = Form({**form.values, "end-right_knee-flex": (degrees,)})
            timed(f"{key}: drawn with another angle", partial(drawn, bent, content, library, key))
        timed(f"{key}: turned", partial(drawn, form, content, library, key, turn=30))
        timed(f"{key}: held to every rule", partial(judged, bent, content, library, key))
    with tempfile.TemporaryDirectory() as place:
        content = library.entries["drills", DRILLS[0]].content
        for number in range(2):
            words = {**content, "feel": f"A pull low in the calf, {number + 1}."}
            timed("saved", partial(upkeep.put, Path(place), "drills", DRILLS[0], words))
            timed("and the library read anew", partial(load_library, Path(place)))


if __name__ == "__main__":
    main()
