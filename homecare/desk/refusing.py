"""Every refusal and every fault told as a page of our own in plain words; no traceback reaches a page."""

from __future__ import annotations

import traceback

from flask import Flask, Response, current_app, make_response, render_template, request
from werkzeug.exceptions import HTTPException

from homecare.core.problems import InputFault
from homecare.storage.faults import StorageFault

WORDS = {
    400: "This address was not understood.",
    401: "Sign in first.",
    404: "There is no such page, or what it showed is no longer kept.",
    405: "This page is not for that.",
    413: "This is too large to be taken.",
    422: "This cannot be done as it is:",
    503: "The clinic's records cannot be used just now:",
}
"""What is said where whoever refused said nothing of their own."""
OUR_FAULT = (
    "Something went wrong that is not your fault. What you sent may not have been kept: "
    "go back, and your browser shows it again. What happened was written down, without anything you typed."
)


def in_words(app: Flask) -> None:
    """Answer every refusal and every fault with a page in plain words."""
    app.register_error_handler(Exception, _told)


def _told(error: Exception) -> Response:
    if isinstance(error, HTTPException):
        code = error.code or 500
        # What a raised exception says by itself was written for programmers.
        own = error.description if error.description != type(error).description else None
        return _page(code, own or WORDS.get(code, "This cannot be done."))
    if isinstance(error, InputFault):
        # A topic that can show a fault beside its field does; what comes here is mostly the state of the disk.
        code = 503 if isinstance(error, StorageFault) else 422
        said = [f"{one.message}{f' ({one.hint})' if one.hint else ''}" for one in error.problems]
        return _page(code, f"{WORDS[code]} {'; '.join(said)}.")
    current_app.logger.error("%s", without_values(error))
    return _page(500, OUR_FAULT)


def without_values(error: BaseException) -> str:
    """A fault as it is logged: where it happened, and no message, since a message may hold what somebody typed."""
    lines = [f"{request.method} {request.endpoint or 'no page'}: a fault of ours"]
    seen: BaseException | None = error
    while seen is not None:
        lines.append(type(seen).__qualname__)
        for frame in traceback.extract_tb(seen.__traceback__):
            lines.append(f"  {frame.filename}, line {frame.lineno}, in {frame.name}")
        seen = seen.__cause__ or seen.__context__
    return "\n".join(lines)


def _page(code: int, words: str) -> Response:
    return make_response(render_template("refused.html", code=code, words=words), code)
