"""The targets, and the inputs that once found something in them."""

from __future__ import annotations

from pathlib import Path

TARGETS = (
    "display",
    "codec",
    "folders",
    "landmarks",
    "operating",
    "withheld",
    "web_requests",
    "web_messages",
)
CORPUS = Path(__file__).resolve().parent / "corpus"
LIST = "FOUND.md"
"""In each folder: a line for each input, with what it found."""


def kept(target: str) -> dict[str, bytes]:
    """By name, the inputs that found something in this target."""
    paths = sorted((CORPUS / target).glob("*"))
    return {path.name: path.read_bytes() for path in paths if path.name != LIST}
