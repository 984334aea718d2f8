"""JSON that was written once for all pages that are answered the same, for Socket.IO to send as it is."""

from __future__ import annotations

import json
from typing import Any


class Written(str):
    """The text of a JSON value."""

    __slots__ = ()


def dumps(value: Any, **options: Any) -> str:
    """As json.dumps, but what was written already isn't written again."""
    if type(value) is list and len(value) == 1 and type(value[0]) is Written:
        return f"[{value[0]}]"
    return json.dumps(value, **options)


loads = json.loads
