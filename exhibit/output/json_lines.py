"""JSON for other programs, an object on each line, in which nothing is invisible."""

from __future__ import annotations

import json
from typing import Any

import msgspec


def json_line(value: Any) -> str:
    """The value as JSON (RFC 8259) on one line of visible ASCII."""
    return json.dumps(msgspec.to_builtins(value, str_keys=True), separators=(",", ":"), ensure_ascii=True)
