"""Reads the museum's own pictures of parts: files in pictures/ that [parts.NAME] in machine.toml names."""

from __future__ import annotations

import base64
import re
from collections.abc import Mapping
from functools import lru_cache
from typing import Final

import msgspec

from exhibit.folder.gallery.names import served_name
from exhibit.folder.gallery.photographs import PHOTOGRAPHS, clean_photograph
from exhibit.folder.gallery.svg import clean_svg
from exhibit.folder.reading.machine import MachineDraft
from exhibit.folder.reading.mistakes import Mistake
from exhibit.folder.reading.parts import PartDraft
from exhibit.folder.reading.values import intended_name

FOLDER: Final = "pictures"
SVG: Final = ".svg"
_NAME: Final = re.compile(rf"{FOLDER}/[A-Za-z0-9][A-Za-z0-9_-]*\.[a-z]+")
MOST_BYTES: Final = 300_000
"""Of all pictures of a folder together, as they stand in the first line of each recording."""
_OTHER_SHAPE: Final = 1.25
"""A picture that is wider or narrower than its part by more than this gets advice."""


class _Clean(msgspec.Struct, frozen=True):
    name: str
    """Under which it is served: it changes with the content, so that nobody sees an old picture."""
    content: str
    """As it stands in a recording."""
    shape: float
    """Its width divided by its height."""
    openings: tuple[str, ...]


def read_pictures(
    machine: MachineDraft, files: Mapping[str, bytes], mistakes: list[Mistake]
) -> dict[str, str]:
    """Return the pictures that parts have, by the names under which they are served; adds to `mistakes`.

    Each part then knows the name of its picture.
    """
    pictures: dict[str, str] = {}
    refused: set[str] = set()
    drafts = [draft for draft in machine.part_drafts if draft.picture]
    for draft in drafts:
        if (content := _content(draft, files)) is None or draft.picture in refused:
            continue
        clean = _clean(draft.picture, content)
        if isinstance(clean, Mistake):
            refused.add(draft.picture)
            mistakes.append(clean)
            continue
        pictures[clean.name] = clean.content
        machine.parts[draft.name] = msgspec.structs.replace(machine.parts[draft.name], picture=clean.name)
        _advise(draft, clean, machine)
    if drafts and (total := sum(len(one.encode()) for one in pictures.values())) > MOST_BYTES:
        drafts[-1].table.wrong(
            "picture",
            f"the pictures of all parts have {total:,} bytes in a recording, but at most "
            f"{MOST_BYTES:,} are kept, because each recording carries them",
            "fewer or simpler pictures",
        )
    for name in files:
        if name not in [draft.picture for draft in drafts]:
            write = f'picture = "{name}" in [parts.NAME] of machine.toml, or delete the file'
            mistakes.append(Mistake(name, 1, "no part has this picture", write, is_advice=True))
    return pictures


def _content(draft: PartDraft, files: Mapping[str, bytes]) -> bytes | None:
    """Return the content of a part's picture; adds a mistake if it can't be one or isn't there."""
    name = draft.picture
    if not _NAME.fullmatch(name) or not name.endswith((SVG, *PHOTOGRAPHS)):
        endings = ", ".join((SVG, *PHOTOGRAPHS))
        what = (
            f'"{name}" can\'t be the name of a picture, which is a file in {FOLDER}/ that ends with {endings}'
        )
        draft.table.wrong("picture", what, f'picture = "{FOLDER}/{draft.name}{SVG}"')
    elif name not in files:
        near = intended_name(name, files)
        write = f'picture = "{near}"' if near else 'that file in the folder, or picture = "none"'
        draft.table.wrong("picture", f'there is no file "{name}" in the folder', write)
    else:
        return files[name]
    return None


@lru_cache(maxsize=64)
def _clean(file: str, content: bytes) -> _Clean | Mistake:
    if file.endswith(SVG):
        svg = clean_svg(file, content)
        if isinstance(svg, Mistake):
            return svg
        name = served_name(svg.text.encode(), SVG)
        return _Clean(name, svg.text, svg.width / svg.height, svg.openings)
    photograph = clean_photograph(file, content)
    if isinstance(photograph, Mistake):
        return photograph
    jpeg = photograph.jpeg
    return _Clean(
        served_name(jpeg, ".jpg"), base64.b64encode(jpeg).decode(), photograph.width / photograph.height, ()
    )


def _advise(draft: PartDraft, clean: _Clean, machine: MachineDraft) -> None:
    part = machine.parts[draft.name]
    its_own = [one.kind for one in part.openings]
    for kind in clean.openings:
        if kind not in its_own:
            what = f'the picture has a group "opening-{kind}", but this part has no such opening'
            draft.table.advise("picture", what, f'"{kind}" among its openings, or no such group')
    shape = part.width_cm / part.height_cm
    if not 1 / _OTHER_SHAPE <= clean.shape / shape <= _OTHER_SHAPE:
        width = round(part.height_cm * clean.shape)
        draft.table.advise(
            "picture",
            f"the picture has another shape than the part, which is {part.width_cm} cm wide and "
            f"{part.height_cm} cm high, so space stays empty or part of it is cut off",
            f'width = "{width} cm", if the height is right; or a picture of the front alone',
        )
