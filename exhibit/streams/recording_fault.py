"""What the operating system says about a file, in words for a person. The one place for it."""

from __future__ import annotations

import errno
import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from exhibit.facts.errors import RecordingFault

DISC_IS_FULL = frozenset({errno.ENOSPC, errno.EDQUOT})

_ADVICE = {
    errno.ENOENT: "Check the name; the file may have been moved or removed.",
    errno.EACCES: "Give this user the right to it, or choose another folder.",
    errno.EPERM: "Give this user the right to it, or choose another folder.",
    errno.EROFS: "Choose a folder on a disc that may be written to.",
    errno.ENOSPC: "Free some space on the disc, then start again.",
    errno.EDQUOT: "Free some of this user's space on the disc, then start again.",
    errno.EFBIG: "Raise this user's limit on the size of a file, then start again.",
    errno.EIO: "The disc may be failing: copy the recordings elsewhere and replace it.",
}
_NOT_DONE = "What isn't recorded must not be done, so nothing more is typed"
_WHY = {
    "be begun": f"{_NOT_DONE}.",
    "be written": f"{_NOT_DONE}. What was begun at the machine may go on: look at it.",
}


@contextmanager
def as_recording_fault(path: Path, what: str) -> Iterator[None]:
    """Turn the operating system's complaint into a RecordingFault: "PATH can't WHAT: ..."."""
    try:
        yield
    except (OSError, ValueError) as error:  # ValueError: a path with a zero byte in it
        raise fault(path, what, error) from error


def fault(path: Path, what: str, error: Exception) -> RecordingFault:
    """The RecordingFault for a complaint of the operating system."""
    number = error.errno if isinstance(error, OSError) else None
    said = os.strerror(number) if number else str(error)
    return RecordingFault(
        f"The file {path} can't {what}: {said}.",
        _WHY.get(what, "So nothing in it can be read or shown."),
        _ADVICE.get(number or 0, "Look at the disc and the file, then try again."),
    )
