"""Checks that the files of a folder fit each other, the line and the people who will read the captions."""
