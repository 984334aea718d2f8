"""Finds the museum's own pictures of parts in the recordings that are shown at this moment.

Their names follow from their contents. A recording may come from anywhere, so an SVG is cleaned again before
it is served, as it was when the folder was read. Of a photograph only the header is looked at: one that is
of another kind than ours, or larger, isn't served.
"""

from __future__ import annotations

import base64
import binascii
from functools import lru_cache
from typing import Final

from exhibit.folder.gallery.jpeg import is_as_kept
from exhibit.folder.gallery.names import served_name
from exhibit.folder.gallery.svg import clean_svg
from exhibit.folder.reading.mistakes import Mistake
from exhibit.web.picture import Shown

SVG: Final = "image/svg+xml"
JPEG: Final = "image/jpeg"


def drawn_picture(picture: Shown, name: str) -> tuple[bytes, str] | None:
    """Return the picture of this name and its type; None if nothing that is shown now has such a picture."""
    kept = next((kept[name] for kept in picture.drawn_now() if name in kept), None)
    return None if kept is None else _cleaned(name, kept)


@lru_cache(maxsize=32)
def _cleaned(name: str, kept: str) -> tuple[bytes, str] | None:
    ending = name.rpartition(".")[2]
    try:
        content = kept.encode() if ending == "svg" else base64.b64decode(kept, validate=True)
    except (UnicodeEncodeError, binascii.Error, ValueError):
        return None
    if served_name(content, f".{ending}") != name:
        return None
    if ending == "svg":
        found = clean_svg(name, content)
        return None if isinstance(found, Mistake) else (found.text.encode(), SVG)
    return (content, JPEG) if ending == "jpg" and is_as_kept(content) else None
