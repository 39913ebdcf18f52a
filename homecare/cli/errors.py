"""A fault of ours: one sentence on the screen, and the rest in a log file of the user's state folder."""

from __future__ import annotations

import os
import platform
import tempfile
import traceback
from datetime import UTC, datetime
from importlib.metadata import version
from pathlib import Path

USER_FAULT = 1
WRONG_USAGE = 2
OUR_FAULT = 3


def report_bug(error: BaseException) -> str:
    """Write the traceback of `error` to a log file and return the sentence that names the file."""
    text = "".join(traceback.format_exception(error))
    now = datetime.now(UTC)
    head = f"{now.isoformat(timespec='seconds')} homecare {version('homecare')}, Python {platform.python_version()}\n"
    name = f"fault-{now:%Y%m%dT%H%M%S}-{os.getpid()}.log"
    for folder in (state_folder(), Path(tempfile.gettempdir())):
        try:
            folder.mkdir(parents=True, exist_ok=True)
            log = folder / name
            # A traceback may hold words of the visit, so it is for this user alone.
            with os.fdopen(os.open(log, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w", encoding="utf-8") as stream:
                stream.write(head + text)
        except OSError:
            continue
        return f"homecare: something went wrong that is not your fault; what happened stands in {log}"
    return (
        f"homecare: something went wrong that is not your fault ({type(error).__name__}), and no log could be written"
    )


def state_folder() -> Path:
    """The user's state folder for logs: $XDG_STATE_HOME or ~/.local/state (XDG Base Directory Specification 0.8)."""
    given = os.environ.get("XDG_STATE_HOME", "")
    base = Path(given) if given.startswith("/") else Path.home() / ".local" / "state"
    return base / "homecare"
