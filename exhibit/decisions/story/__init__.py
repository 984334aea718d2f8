"""What visitors are told, in which words, and for how long."""
