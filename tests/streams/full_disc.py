"""A disc that is full for a while, for recordings that are written by this process."""

from __future__ import annotations

import errno
import os

import pytest


class FullDisc:
    """Full for `full` writes of a recording's lines, from line `fills_at` on; never until that is set."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.fills_at, self.full, self.lines = 10**9, 1, 0
        self._write = os.write
        monkeypatch.setattr(os, "write", self.write)

    def write(self, fd: int, data: bytes) -> int:
        if bytes(data[:7]) == b'{"seq":':
            self.lines += 1
            if self.fills_at <= self.lines < self.fills_at + self.full:
                raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        return self._write(fd, data)
