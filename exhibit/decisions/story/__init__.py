"""What visitors read, in which words, and for how long."""
