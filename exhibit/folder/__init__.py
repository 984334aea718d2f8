"""Reads a machine's folder, and finds every mistake in it at once."""
