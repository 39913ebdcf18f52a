"""`homecare serve` in a process of its own: where it listens, how it stops, what it says when it cannot start."""

from __future__ import annotations

import hashlib
import io
import os
import re
import signal
import socket
import ssl
import stat
import subprocess
import sys
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from homecare.cli.certificate import DAYS, RENEWED, kept_certificate, own_certificate
from homecare.cli.main import main
from homecare.core.problems import InputFault

HOMECARE = [sys.executable, "-m", "homecare"]
SERVE = [*HOMECARE, "serve"]
PASSPHRASE = "heron lantern gravel oboe"


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
    match = re.search(r"https?://[^/]+:(\d+)/", line)
    assert match, line
    return line, int(match[1])


def fetch(port: int, path: str = "/", host: str | None = None) -> int:
    request = urllib.request.Request(f"http://127.0.0.1:{port}{path}", headers={"Host": host} if host else {})
    try:
        with urllib.request.urlopen(request, timeout=60) as answer:
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
        _, errors = process.communicate(timeout=60)
        assert (process.returncode, errors) == (0, "")


def test_shared_are_the_phone_pages_alone_and_it_says_what_is_missing() -> None:
    with serving("--port", "0", "--share") as process:
        _, desk = said(process)
        line, shared = said(process)
        assert "TLS is not set up" in line
        assert "--certificate" in line
        assert listening(desk) == {"127.0.0.1"}
        assert listening(shared) == {"0.0.0.0"}
        assert fetch(shared) == 200
        assert fetch(shared, "/made/x/sheet.pdf") == 404
        process.terminate()
        process.communicate(timeout=60)
        assert process.returncode == 0


def test_a_port_in_use_is_the_users_to_choose_anew() -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        result = subprocess.run(
            [*SERVE, "--port", str(taken.getsockname()[1])], capture_output=True, text=True, timeout=60, check=False
        )
    assert result.returncode == 1
    assert "--port" in result.stderr
    assert "Traceback" not in result.stderr


@pytest.fixture
def people(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> Callable[..., tuple[int, str, str]]:
    """`homecare people` over one folder, with a line on its standard input: status, output, errors."""

    def run(*arguments: str, typed: str = "") -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "stdin", io.StringIO(f"{typed}\n"))
        status = main(["people", *arguments, "--data", str(tmp_path)])
        return status, *capsys.readouterr()

    return run


def test_other_rooms_get_in_under_tls_and_with_a_passphrase_only(
    tmp_path: Path, people: Callable[..., tuple[int, str, str]]
) -> None:
    """ASVS 5.0, 12.2.1 (from memory): no plain connection, and TLS 1.2 at least."""
    refused = subprocess.run(
        [*SERVE, "--rooms", "--port", "0", "--data", str(tmp_path)],
        capture_output=True, text=True, timeout=60, check=False,
    )  # fmt: skip
    assert refused.returncode == 1
    assert "homecare people add" in refused.stderr
    assert people("add", "Imke Sandoval", typed=PASSPHRASE)[0] == 0
    with serving("--rooms", "--port", "0", "--data", str(tmp_path)) as process:
        line, port = said(process)
        assert line.startswith("The desk is at https://")
        assert process.stdout is not None
        fingerprint = re.search(r"(?:[0-9A-F]{2}:){31}[0-9A-F]{2}", process.stdout.readline())
        _, pages = said(process)
        assert listening(port) == {"0.0.0.0"}
        assert listening(pages) == {"127.0.0.1"}
        # What the other room's browser shows is what was printed; the name is one that the certificate is for.
        shown = ssl.get_server_certificate(("127.0.0.1", port))
        digest = hashlib.sha256(ssl.PEM_cert_to_DER_cert(shown)).hexdigest().upper()
        assert fingerprint
        assert fingerprint[0].replace(":", "") == digest
        trusting = ssl.create_default_context(cadata=shown)
        name = re.search(r"https://([^/:]+):", line)
        assert name
        for host in ("127.0.0.1", name[1]):
            request = urllib.request.Request(f"https://127.0.0.1:{port}/", headers={"Host": f"{host}:{port}"})
            with pytest.raises(urllib.error.HTTPError) as answer:
                urllib.request.urlopen(request, timeout=60, context=trusting)
            with answer.value as error:
                assert error.code == 401, host
                assert error.headers["Set-Cookie"].startswith("__Host-desk=")
                assert "Secure" in error.headers["Set-Cookie"]
                assert "Strict-Transport-Security" not in error.headers  # or nobody could accept the certificate
        with pytest.warns(DeprecationWarning, match="TLSv1_1"), pytest.raises((ssl.SSLError, ConnectionError)):
            ssl.get_server_certificate(("127.0.0.1", port), ssl_version=ssl.PROTOCOL_TLSv1_1)
        with pytest.raises((ConnectionError, urllib.error.URLError)) as unread:  # no page, not even a refusal, in plain
            urllib.request.urlopen(f"http://127.0.0.1:{port}/", timeout=60)
        assert not isinstance(unread.value, urllib.error.HTTPError) or unread.value.code == 400
        process.terminate()
        _, errors = process.communicate(timeout=60)
        assert (process.returncode, errors) == (0, "")


def test_a_certificate_of_the_clinics_own_serves_the_phone_pages_too(tmp_path: Path) -> None:
    made = kept_certificate(tmp_path / "own", ["localhost", "127.0.0.1"], datetime.now(UTC))
    own = ["--certificate", str(made.file), "--key", str(made.key)]
    with serving("--port", "0", "--share", "--data", str(tmp_path), *own) as process:
        line, _ = said(process)
        assert line.startswith("The desk is at http://127.0.0.1")
        line, pages = said(process)
        assert "https://localhost:" in line
        assert "TLS is not set up" not in line
        trusting = ssl.create_default_context(cafile=str(made.file))
        with urllib.request.urlopen(f"https://localhost:{pages}/", timeout=60, context=trusting) as answer:
            assert answer.status == 200
        process.terminate()
        process.communicate(timeout=60)


@pytest.mark.parametrize("given", [["--certificate", "x.crt", "--rooms"], ["--certificate", "x.crt", "--key", "x.key"]])
def test_a_certificate_that_serves_nothing_is_told(given: list[str], tmp_path: Path) -> None:
    result = subprocess.run(
        [*SERVE, *given, "--data", str(tmp_path)], capture_output=True, text=True, timeout=60, check=False
    )
    assert result.returncode == 1
    assert "go together" in result.stderr


def test_a_made_certificate_stays_until_it_nears_its_end(tmp_path: Path) -> None:
    now = datetime(2026, 3, 2, tzinfo=UTC)
    first = kept_certificate(tmp_path / "tls", ["front-desk", "front-desk.local", "192.0.2.7"], now)
    assert first.names == {"front-desk", "front-desk.local", "192.0.2.7"}
    # Another address is no reason for another fingerprint: people compare it by eye.
    assert kept_certificate(tmp_path / "tls", ["192.0.2.8"], now + DAYS - RENEWED) == first
    later = kept_certificate(tmp_path / "tls", ["192.0.2.8"], now + DAYS - RENEWED + timedelta(days=1))
    assert later.fingerprint != first.fingerprint
    for path in (later.file, later.key):
        assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert stat.S_IMODE((tmp_path / "tls").stat().st_mode) == 0o700


def test_a_damaged_certificate_and_a_key_of_another_are_told_in_words(tmp_path: Path) -> None:
    now = datetime(2026, 3, 2, tzinfo=UTC)
    one, other = (kept_certificate(tmp_path / name, ["localhost"], now) for name in "ab")
    with pytest.raises(InputFault, match="do not go together"):
        own_certificate(one.file, other.key)
    with pytest.raises(InputFault, match="no such file"):
        own_certificate(tmp_path / "nothing.crt", one.key)
    one.file.write_text("damaged")
    with pytest.raises(InputFault, match="delete them"):
        kept_certificate(tmp_path / "a", ["localhost"], now)


def test_people_are_kept_on_the_machine_itself(tmp_path: Path, people: Callable[..., tuple[int, str, str]]) -> None:
    assert "Nobody is set up" in people("list")[1]
    status, _, errors = people("add", "Imke Sandoval", typed="short")
    assert status == 1
    assert "12 letters" in errors
    assert people("add", " ", typed=PASSPHRASE)[0] == 1
    assert people("add", "Imke Sandoval", typed=PASSPHRASE)[0] == 0
    assert people("add", "imke sandoval", typed=PASSPHRASE)[0] == 1
    assert people("add", "Bo Achterberg", typed="saddle quince ferry thimble")[0] == 0
    assert people("list")[1] == "Bo Achterberg  member\nImke Sandoval  owner\n"
    assert people("passphrase", "Nobody", typed=PASSPHRASE)[0] == 1
    assert people("passphrase", "Bo Achterberg", typed="oboe ferry gravel heron")[0] == 0
    assert people("end", "Imke Sandoval")[0] == 1
    assert people("end", "Bo Achterberg")[0] == 0
    assert people("list")[1] == "Imke Sandoval  owner\n"
    content = b"".join(path.read_bytes() for path in tmp_path.iterdir() if path.is_file())
    assert b"heron" not in content
    assert b"scrypt:" in content


def test_a_fault_is_written_down_for_this_user_alone_and_not_on_the_screen(tmp_path: Path) -> None:
    state = tmp_path / "state"
    environment = {**os.environ, "XDG_STATE_HOME": str(state)}
    process = subprocess.Popen(
        [*SERVE, "--port", "0", "--data", str(tmp_path / "data")],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=environment,
    )  # fmt: skip
    try:
        _, port = said(process)
        (tmp_path / "data" / "homecare.sqlite").write_bytes(b"no database " * 500)
        assert fetch(port, "/clinic") == 503
        log = state / "homecare" / "desk.log"
        assert stat.S_IMODE(log.stat().st_mode) == 0o600
    finally:
        process.terminate()
        _, errors = process.communicate(timeout=60)
    assert errors == ""
