"""Runs, captions and records scripted operator sessions on a historic machine's console."""

__version__ = "0.1.0"
