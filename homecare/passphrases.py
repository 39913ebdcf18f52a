"""Passphrases: what one must not be, how it is kept, and how it is compared."""

from __future__ import annotations

import re
import threading
import unicodedata
from collections.abc import Iterable

from werkzeug.security import check_password_hash, generate_password_hash
from zxcvbn import zxcvbn

LEAST, MOST = 12, 1000
METHOD = "scrypt:32768:8:3"
"""scrypt with N = 2^15, r = 8 and p = 3, 32 MB a try (OWASP Password Storage Cheat Sheet: an earlier table, read, asks
p = 2 for this N; the present one p = 3, from memory). Each hash names its own, so that later ones can be stronger."""
ENOUGH = 3
"""Of zxcvbn's 0 to 4: ten billion guesses (Wheeler 2016, USENIX Security 25:157-173, from memory)."""
COMPARED = 72
"""So many letters are judged; what comes after them makes none weaker."""

TOO_SHORT = f"It needs at least {LEAST} letters; four or five words that do not belong together are easy to keep"
TOO_LONG = f"At most {MOST} letters"
GUESSED = "It would soon be guessed: use four or five words that do not belong together"
OURS = "It is made of the clinic's name, your own or this program's: use other words"
DIFFERENT = "The two are not the same: type both again"

_hashing = threading.Lock()  # many tries at once take no more memory than one
_nobody: list[str] = []


def faults(passphrase: str, again: str, own_words: Iterable[str]) -> tuple[str, ...]:
    """What is wrong with a new passphrase, all at once; nothing asks for signs of a certain kind.

    `own_words` are the clinic's name, the person's and the like (ASVS 5.0, 6.2.4, 6.2.5, 6.2.11).
    """
    found = list[str]()
    own = _words(("homecare", *own_words))
    if len(passphrase) < LEAST:
        found.append(TOO_SHORT)
    elif len(passphrase) > MOST:
        found.append(TOO_LONG)
    elif zxcvbn(passphrase[:COMPARED])["score"] < ENOUGH:
        found.append(GUESSED)
    elif zxcvbn(_without(passphrase, own)[:COMPARED] or "a")["score"] < ENOUGH:
        found.append(OURS)
    if passphrase != again:
        found.append(DIFFERENT)
    return tuple(found)


def kept(passphrase: str) -> str:
    """A passphrase as it is kept: its hash with a salt of its own."""
    with _hashing:
        return generate_password_hash(_same(passphrase), method=METHOD)


def matches(passphrase: str, hash: str | None) -> bool:
    """Whether a passphrase is the one of a hash; without a hash it takes as long and says no (ASVS 5.0, 6.3.8)."""
    if not _nobody:
        _nobody.append(kept("nobody has this one"))
    with _hashing:
        right = check_password_hash(hash or _nobody[0], _same(passphrase[:MOST]))
    return right and hash is not None


def _same(passphrase: str) -> str:
    """One form for letters that keyboards write in different ways; nothing is cut off (NIST SP 800-63B 5.1.1.2)."""
    return unicodedata.normalize("NFKC", passphrase)


def _words(texts: Iterable[str]) -> tuple[str, ...]:
    """The words of some texts, the long ones first; short ones are parts of too many others."""
    found = {word for text in texts for word in re.findall(r"\w+", text.casefold()) if len(word) > 3}
    return tuple(sorted(found, key=lambda word: (-len(word), word)))


def _without(passphrase: str, words: Iterable[str]) -> str:
    left = passphrase.casefold()
    for word in words:
        left = left.replace(word, "")
    return left.strip()
