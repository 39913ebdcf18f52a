"""`homecare serve`: the practitioner's desk, on this machine only."""

from __future__ import annotations

import argparse
import signal
import sys
from types import FrameType
from typing import Any

from cheroot import wsgi

from homecare.cli.errors import USER_FAULT
from homecare.desk import create_app

HOST = "127.0.0.1"


def run(arguments: argparse.Namespace) -> int:
    """Serve the desk until it is told to stop (Ctrl-C or a termination signal)."""
    app = create_app(clinic=arguments.clinic, library=arguments.library)
    server = wsgi.Server((HOST, arguments.port), app, numthreads=4, server_name="homecare")
    try:
        server.prepare()
    except OSError as error:
        reason = error.strerror or "it cannot be opened"
        print(f"port {arguments.port}: {reason}; choose another with --port, or 0 for a free one", file=sys.stderr)
        return USER_FAULT
    print(f"The desk is at http://{HOST}:{server.bind_addr[1]}/ on this machine only. Ctrl-C stops it.", flush=True)
    _stop_when_told(server)
    try:
        server.serve()
    except (KeyboardInterrupt, SystemExit):
        server.stop()
    return 0


def _stop_when_told(server: Any) -> None:
    def stop(_signal: int, _frame: FrameType | None) -> None:
        raise KeyboardInterrupt

    signal.signal(signal.SIGTERM, stop)
