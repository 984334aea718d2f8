"""Recordings on disc, and playing them at the right pace."""
