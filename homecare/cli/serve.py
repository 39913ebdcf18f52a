"""`homecare serve`: the desk and the phone pages on this machine only; when asked, the phone pages for the network."""

from __future__ import annotations

import argparse
import signal
import socket
import sys
import threading
from types import FrameType

from cheroot import wsgi
from flask import Flask

from homecare import desk, phone
from homecare.cli.errors import USER_FAULT
from homecare.library.load import load_library

LOOPBACK, EVERYWHERE = "127.0.0.1", "0.0.0.0"
NO_TLS = (
    "TLS is not set up yet: whoever is on that network can see which drill a phone opens, and could alter the page "
    "on its way. The pages hold no name and no dose."
)


def run(arguments: argparse.Namespace) -> int:
    """Serve until told to stop (Ctrl-C or a termination signal)."""
    servers: list[wsgi.Server] = []
    try:
        servers.append(_opened(desk.create_app(arguments.clinic, arguments.library), LOOPBACK, arguments.port))
        port = servers[0].bind_addr[1]
        pages = phone.create_app(load_library(arguments.library))
        servers.append(_opened(pages, EVERYWHERE if arguments.share else LOOPBACK, port + 1 if arguments.port else 0))
    except _NoPort as fault:
        print(fault, file=sys.stderr)
        for server in servers:
            server.stop()
        return USER_FAULT
    print(f"The desk is at http://{LOOPBACK}:{port}/ on this machine only. Ctrl-C stops it.", flush=True)
    pages_port = servers[1].bind_addr[1]
    if arguments.share:
        where = " or ".join(f"http://{address}:{pages_port}/" for address in _addresses())
        print(f"The phone pages are at {where} for the clinic's network. {NO_TLS}", flush=True)
    else:
        print(f"The phone pages are at http://{LOOPBACK}:{pages_port}/ on this machine only.", flush=True)
    _serve(servers)
    return 0


class _NoPort(Exception):
    """A port that cannot be opened."""


def _opened(app: Flask, host: str, port: int) -> wsgi.Server:
    server = wsgi.Server((host, port), app, numthreads=4, server_name="homecare")
    try:
        server.prepare()
    except (OSError, OverflowError) as error:
        reason = getattr(error, "strerror", None) or "it cannot be opened"
        raise _NoPort(f"port {port}: {reason}; choose another with --port, or 0 for a free one") from error
    return server


def _serve(servers: list[wsgi.Server]) -> None:
    told = threading.Event()

    def stop(_signal: int, _frame: FrameType | None) -> None:
        told.set()

    for number in (signal.SIGINT, signal.SIGTERM):
        signal.signal(number, stop)
    threads = [threading.Thread(target=server.serve) for server in servers]
    for thread in threads:
        thread.start()
    told.wait()
    for server in servers:
        server.stop()
    for thread in threads:
        thread.join()


def _addresses() -> list[str]:
    """This machine's addresses on its networks, or its name when it knows none."""
    name = socket.gethostname()
    try:
        found = {str(entry[4][0]) for entry in socket.getaddrinfo(name, None, socket.AF_INET)}
    except OSError:
        found = set()
    return sorted(address for address in found if not address.startswith("127.")) or [name]
