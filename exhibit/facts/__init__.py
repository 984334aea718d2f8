"""The vocabulary: what can happen, as plain data, and how it is written to disc."""
