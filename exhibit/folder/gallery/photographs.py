"""Encodes a museum's photograph anew, small and without anything but the picture itself.

Where and when it was taken, by whom and with what, and any smaller picture hidden in the file: all of it is
gone, because only the colours of its points go from the old file into the new one.
"""

from __future__ import annotations

import io
import warnings
from typing import Final

import msgspec
from PIL import Image, ImageOps, UnidentifiedImageError

from exhibit.folder.gallery.jpeg import LONGEST_SIDE_PX, MOST_BYTES
from exhibit.folder.reading.mistakes import Mistake

LARGEST_FILE_BYTES: Final = 20_000_000
MOST_PIXELS: Final = 50_000_000
"""Of the file as it came: a picture of more could take all the memory there is."""
LEAST_SIDE_PX: Final = 120
_QUALITIES: Final = (82, 74, 66, 58, 50)
_SMALLER: Final = 0.8
_WHITE: Final = (255, 255, 255)
_KINDS: Final = {".jpg": "JPEG", ".jpeg": "JPEG", ".png": "PNG", ".webp": "WEBP"}
PHOTOGRAPHS: Final = tuple(_KINDS)
"""How the names of photographs end."""
_MOST_SHAPE: Final = 8.0


class CleanPhotograph(msgspec.Struct, frozen=True):
    """A photograph as JPEG, without metadata."""

    jpeg: bytes
    width: int
    height: int


def clean_photograph(file: str, content: bytes) -> CleanPhotograph | Mistake:
    """Return the photograph, encoded anew, or why it can't be used."""

    def refused(what: str, write: str) -> Mistake:
        return Mistake(file, 1, what, write)

    if len(content) > LARGEST_FILE_BYTES:
        many = LARGEST_FILE_BYTES // 1_000_000
        return refused(f"the photograph has more than {many} million bytes", "a smaller photograph")
    kind = _KINDS[file[file.rindex(".") :].lower()]
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # what the library warns of is refused here, with our own limits
            with Image.open(io.BytesIO(content), formats=[kind]) as opened:
                width, height = opened.size
                if width * height > MOST_PIXELS:
                    many, most = width * height // 1_000_000, MOST_PIXELS // 1_000_000
                    what = f"the photograph has {many} million pixels, and more than {most} are not decoded"
                    return refused(what, f"a smaller photograph; {LONGEST_SIDE_PX} pixels are enough")
                if min(width, height) < LEAST_SIDE_PX or max(width, height) > _MOST_SHAPE * min(
                    width, height
                ):
                    what = f"a photograph of {width} by {height} pixels shows no part that can be recognised"
                    return refused(what, f"a photograph of at least {LEAST_SIDE_PX} pixels each way")
                picture = _upright(opened)
    except Image.DecompressionBombError:
        what = f"the photograph has more pixels than the {MOST_PIXELS // 1_000_000} million that are decoded"
        return refused(what, f"a smaller photograph; {LONGEST_SIDE_PX} pixels are enough")
    except UnidentifiedImageError:
        return refused(f"this is not a photograph of the kind {kind}", "the photograph, saved again")
    except (OSError, ValueError, SyntaxError, EOFError, MemoryError) as fault:
        what = f"the photograph is damaged: {fault}"
        return refused(what, "the photograph, copied or saved again")
    return _encoded(picture)


def _upright(opened: Image.Image) -> Image.Image:
    """Return the picture's points: upright, small enough, and on white where it is transparent."""
    opened.draft("RGB", (2 * LONGEST_SIDE_PX, 2 * LONGEST_SIDE_PX))
    opened.load()
    turned = ImageOps.exif_transpose(opened)
    turned.thumbnail((LONGEST_SIDE_PX, LONGEST_SIDE_PX))
    if "A" in turned.getbands() or "transparency" in turned.info:
        layer = turned.convert("RGBA")
        turned = Image.new("RGB", layer.size, _WHITE)
        turned.paste(layer, mask=layer.getchannel("A"))
    clean = Image.new("RGB", turned.size)
    clean.paste(turned.convert("RGB"))
    return clean


def _encoded(picture: Image.Image) -> CleanPhotograph:
    while True:
        for quality in _QUALITIES:
            out = io.BytesIO()
            picture.save(out, "JPEG", quality=quality, optimize=True)
            if out.tell() <= MOST_BYTES:
                return CleanPhotograph(out.getvalue(), *picture.size)
        picture = picture.resize([round(side * _SMALLER) for side in picture.size])
