"""EDGES: where the program meets the world."""
