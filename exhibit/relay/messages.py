"""What stands in Redis: a stream of answers, the last whole one, and the pictures of parts.

An answer in the stream says what is new since the one before it; its number says which that is. The whole
one is everything up to its number, and names its entry in the stream, after which a reader goes on.
"""

from __future__ import annotations

from typing import Any, Final

import msgspec

STREAM: Final = "exhibit:stream"
LAST_WHOLE: Final = "exhibit:whole"
DRAWN: Final = "exhibit:drawn"
SIGN_OF_LIFE_S: Final = 1.0
"""The longest time between two answers, while the relay lives and reaches Redis."""
MOST_ENTRIES: Final = 2000
"""About how many answers the stream keeps: a minute and a half of a machine that prints without a pause."""
WHOLE_EVERY_S: Final = 10.0
"""How old the whole answer can become: a fraction of the time that the stream keeps."""
MOST_DRAWN_BYTES: Final = 4_000_000


class Sent(msgspec.Struct, frozen=True, kw_only=True):
    """An entry of the stream, or the whole answer."""

    run: str
    """Another one each time that a relay is started: then the numbers begin again."""
    number: int
    answer: dict[str, Any]
    drawn: str = ""
    """Names the pictures of parts that there are now; empty if there are none."""
    place: str = ""
    """Of the whole answer: the id of its entry in the stream."""
