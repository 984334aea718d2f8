"""An index of the recordings in a folder: what they say, row by row, to be found quickly."""
