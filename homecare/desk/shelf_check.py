"""The check of the whole library, which takes seconds: done beside the pages, and stopped when asked."""

from __future__ import annotations

import logging
import threading
from dataclasses import dataclass
from pathlib import Path

from flask import Blueprint, Response, jsonify, make_response, redirect, render_template, url_for

from homecare.core.library_report import LibraryReport
from homecare.desk.shelf_keep import Keeper
from homecare.library import lint


@dataclass(frozen=True)
class Standing:
    """How far the check is: `done` of `of` steps, its report when it is through, and whether it broke off."""

    running: bool = False
    done: int = 0
    of: int = 0
    report: LibraryReport | None = None
    stopped: bool = False
    failed: bool = False


class _Stop(Exception):
    """Raised inside the check to end it."""


class Checking:
    """One check at a time; safe to ask from several threads."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._stop = threading.Event()
        self.standing = Standing()

    def begin(self, own: Path) -> None:
        """Begin a check of the library with the folder `own` over it; one that runs goes on."""
        with self._lock:
            if self.standing.running:
                return
            self._stop.clear()
            self.standing = Standing(running=True)
        threading.Thread(target=self._run, args=(own if own.is_dir() else None,), daemon=True).start()

    def stop(self) -> None:
        """Let the check end before its next step."""
        self._stop.set()

    def _run(self, own: Path | None) -> None:
        try:
            self.standing = Standing(report=lint.check(own, self._told))
        except _Stop:
            self.standing = Standing(stopped=True)
        except Exception:
            logging.getLogger(__name__).exception("the check of the library failed")
            self.standing = Standing(failed=True)

    def _told(self, done: int, of: int) -> None:
        if self._stop.is_set():
            raise _Stop
        self.standing = Standing(running=True, done=done, of=of)


def check_routes(topic: Blueprint, keeper: Keeper) -> None:
    """The routes of the check."""
    checking = Checking()

    @topic.get("/library/check")
    def checked() -> Response:
        return make_response(render_template("shelf_check.html", now=checking.standing))

    @topic.get("/library/check/now")
    def now() -> Response:
        found = checking.standing
        return jsonify(running=found.running, done=found.done, of=found.of)

    @topic.post("/library/check")
    def begin() -> Response:
        checking.begin(keeper.bench.folder)
        return make_response(redirect(url_for("shelf.checked"), 303))

    @topic.post("/library/check/stop")
    def stop() -> Response:
        checking.stop()
        return make_response(redirect(url_for("shelf.checked"), 303))
