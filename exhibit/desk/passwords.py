"""Passwords are kept as what scrypt (RFC 7914) makes of them, from the standard library.

So there is no package that somebody has to keep current on a computer without the internet. The numbers that
say how dear it is are kept beside each hash: a later version can raise them, and still check the old ones.
"""

from __future__ import annotations

import base64
import hashlib
import hmac
import secrets
import unicodedata
from typing import Final

from exhibit.facts.errors import SetUpFault

SHORTEST, LONGEST = 12, 128
"""How many characters a password has. Any characters, spaces included."""
COST: Final = (2**16, 8, 2)
"""scrypt's N, r and p: 64 MiB for a fifth of a second or so. One of the pairs that OWASP's page on storing
passwords gives as equally strong (from memory)."""
_MOST_BYTES: Final = 256 * 1024 * 1024
_KEY_BYTES: Final = 32


def of_nobody() -> str:
    """What could be kept of a password, but is of none."""
    return _kept(COST, secrets.token_bytes(16), secrets.token_bytes(_KEY_BYTES))


def hashed(password: str, cost: tuple[int, int, int] = COST) -> str:
    """What is kept of this password: scrypt, its three numbers, the salt and the hash."""
    salt = secrets.token_bytes(16)
    return _kept(cost, salt, _scrypt(password, salt, cost))


def is_right(password: str, kept: str) -> bool:
    """Whether this is the password of which that is kept. What can't be understood fits no password."""
    try:
        name, n, r, p, salt, key = kept.split("$")
        made = _scrypt(password, base64.b64decode(salt), (int(n), int(r), int(p)))
        return name == "scrypt" and hmac.compare_digest(made, base64.b64decode(key))
    except (ValueError, MemoryError):
        return False


def check_new(password: str, name: str) -> None:
    """Raises SetUpFault if this can't be the password of the person with this name."""
    if not SHORTEST <= len(password) <= LONGEST:
        what = f"The password has {len(password)} characters."
    elif len(set(password)) < 5:
        what = "The password repeats a few characters."
    elif name.casefold() in password.casefold():
        what = "The password has the name in it."
    else:
        return
    raise SetUpFault(
        what,
        "Somebody could guess it, and would then have the machine's keyboard.",
        f"Choose one of {SHORTEST} to {LONGEST} characters, such as some words that don't belong together.",
    )


def _scrypt(password: str, salt: bytes, cost: tuple[int, int, int]) -> bytes:
    n, r, p = cost
    # The same letters can be typed in two ways, of which only one would be right.
    typed = unicodedata.normalize("NFC", password).encode()
    return hashlib.scrypt(typed, salt=salt, n=n, r=r, p=p, maxmem=_MOST_BYTES, dklen=_KEY_BYTES)


def _kept(cost: tuple[int, int, int], salt: bytes, key: bytes) -> str:
    numbers = "$".join(f"{number}" for number in cost)
    return f"scrypt${numbers}${_text(salt)}${_text(key)}"


def _text(data: bytes) -> str:
    return base64.b64encode(data).decode("ascii")
