"""`homecare serve`: the desk and the phone pages on this machine; when asked, for the clinic's network."""

from __future__ import annotations

import argparse
import logging
import os
import signal
import socket
import ssl
import sys
import threading
from contextlib import ExitStack
from datetime import UTC, datetime
from io import TextIOWrapper
from logging.handlers import RotatingFileHandler
from pathlib import Path
from types import FrameType
from typing import Any
from urllib.parse import urlsplit

from cheroot import wsgi
from cheroot.server import HTTPConnection
from cheroot.ssl.builtin import BuiltinSSLAdapter
from flask import Flask

from homecare import desk, phone
from homecare.cli.announcing import NotAnnounced, announced
from homecare.cli.certificate import Certificate, kept_certificate, own_certificate
from homecare.cli.errors import USER_FAULT, state_folder
from homecare.core.sheet import Clinic
from homecare.desk.door import Rooms
from homecare.library.load import load_library
from homecare.storage import people, place
from homecare.storage.database import Database, open_database

LOOPBACK, EVERYWHERE = "127.0.0.1", "0.0.0.0"
LOG_BYTES, LOGS = 1_000_000, 3
MOST_HEAD_BYTES = 65_536
"""Of a request's first line and headers; without a bound they could fill the memory (common practice)."""
NO_TLS = (
    "TLS is not set up for them: whoever is on that network can see which drill a phone opens, and could alter the "
    "page on its way. The pages hold no name and no dose. --certificate and --key give them a certificate."
)
NOBODY = "Other rooms need a passphrase. Set up the first person: homecare people add NAME"
NOT_SHARED = "they are not shared, or under a certificate for other names"
PAIR = "--certificate and --key go together, and with --rooms or --share"


def run(arguments: argparse.Namespace) -> int:
    """Serve until told to stop (Ctrl-C or a termination signal)."""
    both = arguments.certificate and arguments.key
    if bool(arguments.certificate) != bool(arguments.key) or (both and not (arguments.rooms or arguments.share)):
        print(PAIR, file=sys.stderr)
        return USER_FAULT
    _log_to_file()
    data: Path = arguments.data or place.data_folder()
    database = open_database(data)
    if arguments.rooms and not _anybody(database):
        print(NOBODY, file=sys.stderr)
        return USER_FAULT
    own = own_certificate(arguments.certificate, arguments.key) if both else None
    servers: list[wsgi.Server] = []
    with ExitStack() as until_told:
        unnamed = _announce(until_told, arguments.port + 1) if arguments.share and not own else NOT_SHARED
        try:
            _open_desk(servers, arguments, data, own, shared=not unnamed)
            _open_phone(servers, arguments, own, unnamed)
        except _NoPort as fault:
            print(fault, file=sys.stderr)
            for server in servers:
                server.stop()
            return USER_FAULT
        _serve(servers)
    return 0


def _anybody(database: Database) -> bool:
    with database.read() as connection:
        return bool(people.list_people(connection))


def _open_desk(
    servers: list[wsgi.Server], arguments: argparse.Namespace, data: Path, own: Certificate | None, *, shared: bool
) -> None:
    if not arguments.rooms:
        app = desk.create_app(arguments.clinic, arguments.library, data, shared=shared)
        servers.append(_opened(app, LOOPBACK, arguments.port))
        at = f"http://{LOOPBACK}:{servers[0].bind_addr[1]}/"
        print(f"The desk is at {at} on this machine only. Ctrl-C stops it.", flush=True)
        return
    names = machine_names()
    shown = own or kept_certificate(data / "tls", [*names, "localhost", LOOPBACK], datetime.now(UTC))
    asked_by = sorted(shown.names) if own else names
    rooms = Rooms(frozenset(names) | shown.names, shown.fingerprint, own=own is not None)
    app = desk.create_app(arguments.clinic, arguments.library, data, rooms, shared)
    servers.append(_opened(app, EVERYWHERE, arguments.port, shown))
    port = servers[0].bind_addr[1]
    where = " or ".join(f"https://{name}:{port}/" for name in asked_by if name not in ("localhost", LOOPBACK))
    print(f"The desk is at {where} for the clinic's network, with a passphrase. Ctrl-C stops it.", flush=True)
    if not own:
        print(f"Compare its certificate's fingerprint in the other room: {shown.fingerprint}", flush=True)


def _open_phone(
    servers: list[wsgi.Server], arguments: argparse.Namespace, own: Certificate | None, unnamed: str
) -> None:
    port = servers[0].bind_addr[1] + 1 if arguments.port else 0
    pages = phone.create_app(load_library(arguments.library))
    # Never under the certificate that was made here: no athlete should learn to press a warning away.
    servers.append(_opened(pages, EVERYWHERE if arguments.share else LOOPBACK, port, own if arguments.share else None))
    port = servers[1].bind_addr[1]
    if not arguments.share:
        print(f"The phone pages are at http://{LOOPBACK}:{port}/ on this machine only.", flush=True)
    elif own:
        where = " or ".join(f"https://{name}:{port}/" for name in sorted(own.names))
        print(f"The phone pages are at {where} for the clinic's network.", flush=True)
    else:
        where = " or ".join(f"http://{address}:{port}/" for address in machine_addresses())
        print(f"The phone pages are at {where} for the clinic's network. {NO_TLS}", flush=True)
        named = f"They are at {Clinic.web}/ too: what a printed code opens while Clinic has no web address."
        print(f"They are not at {Clinic.web}/: {unnamed}." if unnamed else named, flush=True)


def _announce(until_told: ExitStack, port: int) -> str:
    """Announce the phone pages by the name that codes carry where the clinic has no web address; '' or why not."""
    where = urlsplit(Clinic.web)
    if port != where.port:
        return f"that name stands for port {where.port}"
    try:
        until_told.enter_context(announced(str(where.hostname), machine_addresses(), port))
    except NotAnnounced as reason:
        return str(reason)
    return ""


class _NoPort(Exception):
    """A port that cannot be opened."""


def _opened(app: Flask, host: str, port: int, certificate: Certificate | None = None) -> wsgi.Server:
    server = _Server((host, port), app, numthreads=4 if host == LOOPBACK else 8, server_name="homecare")
    # What an app would refuse is not read to its end either; the app's own limits are told in words.
    most = max([app.config["MAX_CONTENT_LENGTH"] or 0, *app.config.get("UPLOADS", {}).values()])
    server.max_request_body_size = most + 1_000_000
    server.max_request_header_size = MOST_HEAD_BYTES
    if certificate:
        server.ssl_adapter = _Tls(str(certificate.file), str(certificate.key))
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


class _Tls(BuiltinSSLAdapter):
    """Leaves the handshake to the thread that answers: in the one that lets all others in it would hold them up."""

    def wrap(self, sock: socket.socket) -> tuple[ssl.SSLSocket, dict[str, Any]]:
        """The socket under TLS, its handshake still to come."""
        return self.context.wrap_socket(sock, do_handshake_on_connect=False, server_side=True), {}


class _Connection(HTTPConnection):
    """One browser's connection: `heard` says that it was waited for to send something."""

    heard = False

    def communicate(self) -> bool:
        """Answer what was asked; says whether more may come."""
        if isinstance(self.socket, ssl.SSLSocket) and not self.ssl_env:
            try:
                self.socket.do_handshake()
            except OSError:
                return False
            self.ssl_env = self.server.ssl_adapter.get_environ(self.socket)
        return bool(super().communicate())  # type: ignore[no-untyped-call]


class _Server(wsgi.Server):
    """Says what it has to say to the log, a line, and no more; what the pages do is logged by the desk.

    A connection takes a thread once something was sent by it: whoever says nothing keeps nobody waiting.
    """

    ConnectionClass = _Connection

    def process_conn(self, conn: _Connection) -> None:
        """Answer a connection that was heard of; wait for one that was not."""
        if conn.heard:
            super().process_conn(conn)
        else:
            conn.heard = True
            self.put_conn(conn)

    def error_log(self, msg: str = "", level: int = logging.INFO, traceback: bool = False) -> None:
        """Log `msg`; with `traceback` there was an error, of which the log keeps no values."""
        logging.getLogger("homecare.serve").log(max(level, logging.WARNING) if traceback else level, "%s", msg)


class _PrivateLog(RotatingFileHandler):
    """A log for this user alone, also after it was begun anew."""

    def _open(self) -> TextIOWrapper[Any]:
        descriptor = os.open(self.baseFilename, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600)
        return os.fdopen(descriptor, "a", encoding="utf-8")


def _log_to_file() -> None:
    """Log into the user's state folder; where that cannot be, nothing is logged, and the desk works."""
    logging.raiseExceptions = False  # a full disk must not write tracebacks over the screen
    handlers: list[logging.Handler] = [logging.NullHandler()]
    try:
        state_folder().mkdir(parents=True, exist_ok=True, mode=0o700)
        handlers = [_PrivateLog(state_folder() / "desk.log", maxBytes=LOG_BYTES, backupCount=LOGS)]
    except OSError:
        pass
    logging.basicConfig(handlers=handlers, level=logging.WARNING, format="%(asctime)s %(name)s %(message)s")


def machine_names() -> list[str]:
    """The names and addresses that other rooms find this machine by, its own name first."""
    name = socket.gethostname().lower()
    local = [] if "." in name else [f"{name}.local"]  # how most systems find a neighbour (RFC 6762, from memory)
    return [name, *local, *(address for address in machine_addresses() if address != name)]


def machine_addresses() -> list[str]:
    """This machine's IPv4 addresses on its networks, or its name when it knows none."""
    name = socket.gethostname()
    try:
        found = {str(entry[4][0]) for entry in socket.getaddrinfo(name, None, socket.AF_INET)}
    except OSError:
        found = set()
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asked:
        try:
            asked.connect(("192.0.2.1", 9))  # nothing is sent: it only says which address would be used
            found.add(str(asked.getsockname()[0]))
        except OSError:
            pass
    return sorted(address for address in found if not address.startswith("127.")) or [name]
