"""`homecare serve` in a process of its own: where it listens, how it stops, what it says when it cannot start."""

from __future__ import annotations

import re
import signal
import socket
import subprocess
import sys
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager

import pytest

SERVE = [sys.executable, "-m", "homecare", "serve"]


@contextmanager
def serving(*arguments: str) -> Iterator[subprocess.Popen[str]]:
    process = subprocess.Popen([*SERVE, *arguments], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    try:
        yield process
    finally:
        process.kill()
        process.communicate()


def said(process: subprocess.Popen[str]) -> tuple[str, int]:
    """The next line that it prints, and the port in it."""
    assert process.stdout is not None
    line = process.stdout.readline()
    match = re.search(r"http://[^/]+:(\d+)/", line)
    assert match, line
    return line, int(match[1])


def fetch(port: int, path: str = "/", host: str | None = None) -> int:
    request = urllib.request.Request(f"http://127.0.0.1:{port}{path}", headers={"Host": host} if host else {})
    try:
        with urllib.request.urlopen(request, timeout=20) as answer:
            return int(answer.status)
    except urllib.error.HTTPError as error:
        with error:
            return error.code


def listening(port: int) -> set[str]:
    """The local addresses on which a TCP port is listened to, as Linux lists them."""
    with open("/proc/net/tcp") as table:  # noqa: PTH123  (not a file of ours)
        rows = [line.split() for line in table.readlines()[1:]]
    found = {row[1].split(":")[0] for row in rows if row[3] == "0A" and int(row[1].split(":")[1], 16) == port}
    return {socket.inet_ntoa(bytes.fromhex(address)[::-1]) for address in found}


@pytest.mark.parametrize("how", [signal.SIGINT, signal.SIGTERM])
def test_the_desk_listens_on_the_loopback_alone_and_stops_when_told(how: signal.Signals) -> None:
    with serving("--port", "0") as process:
        line, port = said(process)
        assert "this machine only" in line
        assert listening(port) == {"127.0.0.1"}
        assert fetch(port) == 200
        assert fetch(port, host="evil.example") == 400
        line, pages = said(process)
        assert "this machine only" in line
        assert listening(pages) == {"127.0.0.1"}
        assert fetch(pages) == 200
        process.send_signal(how)
        _, errors = process.communicate(timeout=20)
        assert (process.returncode, errors) == (0, "")


def test_shared_are_the_phone_pages_alone_and_it_says_what_is_missing() -> None:
    with serving("--port", "0", "--share") as process:
        _, desk = said(process)
        line, shared = said(process)
        assert "TLS is not set up" in line
        assert listening(desk) == {"127.0.0.1"}
        assert listening(shared) == {"0.0.0.0"}
        assert fetch(shared) == 200
        assert fetch(shared, "/made/x/sheet.pdf") == 404
        process.terminate()
        process.communicate(timeout=20)
        assert process.returncode == 0


def test_a_port_in_use_is_the_users_to_choose_anew() -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        result = subprocess.run(
            [*SERVE, "--port", str(taken.getsockname()[1])], capture_output=True, text=True, timeout=60, check=False
        )
    assert result.returncode == 1
    assert "--port" in result.stderr
    assert "Traceback" not in result.stderr
