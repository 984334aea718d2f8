"""Recordings that were compressed after their day, and still read from any place."""
