"""JSON that is encoded once for all pages that get the same answer; Socket.IO sends it unchanged."""

from __future__ import annotations

import json
from typing import Any


class EncodedJson(str):
    """The text of a JSON value."""

    __slots__ = ()


def dumps(value: Any, **options: Any) -> str:
    """Like json.dumps, but leaves what is already encoded as it is."""
    if type(value) is list and len(value) == 1 and type(value[0]) is EncodedJson:
        return f"[{value[0]}]"
    return json.dumps(value, **options)


loads = json.loads
