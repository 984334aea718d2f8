"""Owns the line and the recording, and carries out what the decisions order."""
