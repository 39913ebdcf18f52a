"""What every page we serve is held to: by which name it was asked for, and what it may load."""

from __future__ import annotations

from collections.abc import Iterable
from urllib.parse import urlsplit

from flask import Flask, Request, Response, abort, request

LOOPBACK_NAMES = frozenset({"127.0.0.1", "localhost", "[::1]"})
"""By no other names may the desk be asked for, unless it is opened to more rooms: any other is a page elsewhere that
had its name point here."""


def policy(*, in_page: bool = False, **sources: str) -> str:
    """A content security policy that allows nothing but the given sources, `script_src="'self'"` and so on.

    `in_page`: for a page that says it itself; who may frame it can only be said in a header.
    """
    rules = {"default-src": "'none'", "base-uri": "'none'", "form-action": "'none'"}
    rules |= {} if in_page else {"frame-ancestors": "'none'"}
    rules |= {name.replace("_", "-"): value for name, value in sources.items()}
    return "; ".join(f"{name} {value}" for name, value in rules.items())


def guard(app: Flask, content_policy: str, names: Iterable[str] | None, *, https_only: bool = False) -> None:
    """Send the headers with every answer of `app`; with `names`, refuse requests for any other host name.

    `https_only`: a browser never again asks this host without TLS. Not for a certificate that was made on the spot:
    where a browser has been told so, it lets nobody accept one (RFC 6797, 12.1, from memory).
    """
    allowed = None if names is None else frozenset(names)

    @app.before_request
    def _asked_for_by_name() -> None:
        if allowed is not None and host_name(request.host) not in allowed:
            abort(400, "This page does not answer to that name.")

    @app.after_request
    def _with_headers(response: Response) -> Response:
        headers = response.headers
        headers.setdefault("Content-Security-Policy", content_policy)
        headers.setdefault("Cache-Control", "no-store")
        headers["X-Content-Type-Options"] = "nosniff"
        # Not no-referrer: with that a browser sends `Origin: null` even to us.
        headers["Referrer-Policy"] = "same-origin"
        headers["Cross-Origin-Opener-Policy"] = "same-origin"
        headers["Cross-Origin-Resource-Policy"] = "same-origin"
        if https_only:
            headers["Strict-Transport-Security"] = "max-age=31536000"
        return response


def host_name(host: str) -> str:
    """A Host header without its port, in small letters; an IPv6 address keeps its brackets."""
    name, colon, port = host.lower().rpartition(":")
    return name if colon and port.isdecimal() else host.lower()


def is_same_origin(asked: Request) -> bool:
    """Whether a request that changes something was sent by a page of ours, by the browser's own word."""
    site = asked.headers.get("Sec-Fetch-Site")
    if site is not None and site != "same-origin":
        return False
    origin = asked.headers.get("Origin")
    if origin is None:
        return site == "same-origin"
    return urlsplit(origin).netloc.lower() == asked.host.lower()
