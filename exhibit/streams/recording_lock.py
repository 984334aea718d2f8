"""The lock by which a reader sees that a recording's writer is alive, without disturbing it."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

WriterState = Literal["writing", "gone"]


def writer_state(path: Path) -> WriterState:
    """Is a process holding this recording open for writing?

    A stopped process (SIGSTOP) is still writing; only heartbeats tell that it no longer does. Raises
    RecordingFault if the file can't be opened.
    """
    raise NotImplementedError
