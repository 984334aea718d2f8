"""Turns the operating system's errors about recordings into sentences for people."""

from __future__ import annotations

import errno
import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from exhibit.facts.errors import RecordingFault

_DISC_IS_FULL = frozenset({errno.ENOSPC, errno.EDQUOT})

_ADVICE = {
    errno.ENOENT: "Check the name; the file may have been moved or removed.",
    errno.EACCES: "Give this user access to it, or choose another folder.",
    errno.EPERM: "Give this user access to it, or choose another folder.",
    errno.EROFS: "Choose a folder on a disc that can be written to.",
    errno.ENOSPC: "Free some space on the disc, then start again.",
    errno.EDQUOT: "Free some of this user's space on the disc, then start again.",
    errno.EFBIG: "Raise this user's limit on file size, then start again.",
    errno.EIO: "The disc may be failing: copy the recordings elsewhere and replace it.",
}
_NOTHING_TYPED = "The program does only what it can record, so it types nothing more"
_WHY = {
    "be created": f"{_NOTHING_TYPED}.",
    "be written": f"{_NOTHING_TYPED}. A job that was started may still be running: look at the machine.",
}


def is_disc_full(error: BaseException | None) -> bool:
    """Whether the operating system refused because there is no room left, on the disc or for this user."""
    return isinstance(error, OSError) and error.errno in _DISC_IS_FULL


@contextmanager
def as_recording_fault(path: Path, what: str) -> Iterator[None]:
    """Turn an error of the operating system into a RecordingFault: "The file PATH can't WHAT: ..."."""
    try:
        yield
    except (OSError, ValueError) as error:  # ValueError: a path with a zero byte in it
        raise fault(path, what, error) from error


def fault(path: Path, what: str, error: Exception) -> RecordingFault:
    """The RecordingFault for an error of the operating system; `what` is as for as_recording_fault."""
    number = error.errno if isinstance(error, OSError) else None
    said = os.strerror(number) if number else str(error)
    return RecordingFault(
        f"The file {path} can't {what}: {said}.",
        _WHY.get(what, "So nothing in it can be read or shown."),
        _ADVICE.get(number or 0, "Check the disc and the file, then try again."),
    )
