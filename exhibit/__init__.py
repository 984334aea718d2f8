"""Runs, captions and records scripted operator sessions on a historic machine's console."""
