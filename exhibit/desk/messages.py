"""What a page may say: each message has a type, and each field its bounds. Who says it is never a field."""

from __future__ import annotations

import re
from typing import Annotated, Final, TypeVar

import msgspec
from msgspec import Meta

from exhibit.facts.session_facts import RequestKind

LONGEST_MESSAGE_BYTES: Final = 32 * 1024
LONGEST_PHOTOGRAPH_BYTES: Final = 10 * 1024 * 1024
_PLAIN: Final = r"^[^\x00-\x1f\x7f-\x9f\u2028-\u202e\u2066-\u2069]*\Z"
"""One line, without what would make it look other than it is."""

# Together they fit into what the bridge's door takes, whatever the letters.
Name = Annotated[str, Meta(max_length=100, pattern=_PLAIN)]
Reason = Annotated[str, Meta(max_length=400, pattern=_PLAIN)]
Typed = Annotated[str, Meta(max_length=200, pattern=r"^[\x00-\xff]*\Z")]
"""What an engineer types at the machine, RETURN and control characters included: each letter is a byte."""
Count = Annotated[int, Meta(ge=0, lt=2**53)]


class Requested(msgspec.Struct, kw_only=True, forbid_unknown_fields=True):
    """Somebody asks something of the bridge."""

    request: RequestKind
    step: Name = ""
    why: Reason = ""
    about: Count = 0
    minutes: Annotated[int, Meta(ge=0, le=24 * 60)] = 0
    text: Typed = ""


class SignIn(msgspec.Struct, kw_only=True, forbid_unknown_fields=True):
    """A docent's initials, or an engineer's name and password."""

    initials: Annotated[str, Meta(max_length=40)] = ""
    name: Annotated[str, Meta(max_length=100)] = ""
    password: Annotated[str, Meta(max_length=1000)] = ""


class Pairing(msgspec.Struct, kw_only=True, forbid_unknown_fields=True):
    """The code that `exhibit desk pair` has shown."""

    code: Annotated[str, Meta(pattern=r"^[0-9]{8}\Z")]


class Nothing(msgspec.Struct, kw_only=True, forbid_unknown_fields=True):
    """Where there is nothing to say."""


class NoteTaken(msgspec.Struct, kw_only=True, forbid_unknown_fields=True):
    """What somebody saw, heard or smelt; or, with `minutes`, the wish to keep the last of the recording."""

    text: Annotated[str, Meta(max_length=4000)] = ""
    minutes: Annotated[int, Meta(ge=0, le=120)] = 0


Message = TypeVar("Message")


def read(content: bytes, kind: type[Message]) -> Message | None:
    """The message; None if it isn't one of this kind."""
    try:
        return msgspec.json.decode(content, type=kind)
    except (msgspec.DecodeError, UnicodeError, RecursionError):
        return None


def without_controls(text: str) -> str:
    """A note's text without what isn't text; its lines stay."""
    return re.sub(
        r"[^\S\n]", " ", re.sub(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\u2028-\u202e\u2066-\u2069]", "", text)
    ).strip()
