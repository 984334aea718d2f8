"""The targets, and the inputs that once found something in them."""

from __future__ import annotations

from pathlib import Path

TARGETS = {
    "codec": ("exhibit.facts", "exhibit.streams"),
    "display": ("exhibit.decisions.display",),
    "folders": ("exhibit.folder", "exhibit.decisions.machine"),
    "landmarks": ("exhibit.decisions.console",),
    "operating": ("exhibit.decisions.console", "exhibit.decisions.session"),
    "web_messages": ("exhibit.web", "engineio", "socketio", "simple_websocket", "wsproto"),
    "web_requests": ("exhibit.web", "engineio", "gevent.pywsgi", "werkzeug"),
    "withheld": ("exhibit.decisions.withholding",),
}
"""By name: the packages that guide the fuzzing, by which of their code an input reaches."""
CORPUS = Path(__file__).resolve().parent / "corpus"
LIST = "FOUND.md"
"""In each folder: a line for each input, with what it found."""


def kept(target: str) -> dict[str, bytes]:
    """By name, the inputs that found something in this target."""
    paths = sorted((CORPUS / target).glob("*"))
    return {path.name: path.read_bytes() for path in paths if path.name != LIST}
