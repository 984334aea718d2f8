"""Reads what a museum gives for its pages: its own pictures of parts, and its screens."""
