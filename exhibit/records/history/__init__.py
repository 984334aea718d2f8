"""Looks back over recordings: incidents and their like, two of them compared, what to bring."""
