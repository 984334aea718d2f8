"""Builds the reports that `exhibit check` prints about a folder."""
