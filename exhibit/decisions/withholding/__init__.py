"""Keeps known secrets, and what may be one, out of what is decided upon, recorded and shown."""
