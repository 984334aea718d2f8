"""Recordings on disc, and their pacing."""
