"""The vocabulary: what can happen, as plain data, and its format on disc."""
