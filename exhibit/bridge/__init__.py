"""Owns the line and the recording, and carries out the commands of the decisions."""
