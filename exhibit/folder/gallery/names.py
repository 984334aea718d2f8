"""Names pictures after their contents, so that a page that has one never shows an old one in its place."""

from __future__ import annotations

import hashlib
from typing import Final

_FIGURES: Final = 32


def served_name(content: bytes, ending: str) -> str:
    """Return the name under which a picture with this content is served, such as "3f2a...c1.svg"."""
    return f"{hashlib.sha256(content).hexdigest()[:_FIGURES]}{ending}"
