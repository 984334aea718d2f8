"""Serves the engineer's page: recordings studied offline, on the engineer's own computer."""
