"""Keeps recordings for decades: verify, mend, compress, copy, discard by rule, erase names."""
