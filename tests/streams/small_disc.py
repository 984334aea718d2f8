"""A real file system of a few megabytes, which a test can fill."""

from __future__ import annotations

import os
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

import pytest

from tests.conftest import Needs


@contextmanager
def small_disc(place: Path, needs: Needs, size: str) -> Iterator[Path]:
    """A disc of this size, such as "1m", mounted in `place`."""
    needs.that(os.geteuid() == 0, "the right to mount a small file system (run as root)")
    disc = place / "disc"
    disc.mkdir()
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", f"size={size}", "tmpfs", disc], capture_output=True, text=True
    )
    if mounted.returncode:
        # Also in CI: a container's root may not mount, and the tests without a mount still hold.
        pytest.skip(f"needs the right to mount a small file system: {mounted.stderr.strip()}")
    try:
        yield disc
    finally:
        # Also when a test that failed still holds a file open there.
        subprocess.run(["umount", "--lazy", disc], check=True)


def fill(disc: Path, leave_bytes: int = 0) -> None:
    """Fill it, except for so many bytes: as another program would."""
    with (disc / "filler").open("ab", buffering=0) as filler, suppress(OSError):
        while True:
            room = os.statvfs(disc)
            size_bytes = room.f_bavail * room.f_frsize - leave_bytes
            if size_bytes <= 0:
                return
            filler.write(bytes(min(size_bytes, 64 * 1024)))
