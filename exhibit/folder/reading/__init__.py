"""Reads each file of a machine's folder into plain data."""
