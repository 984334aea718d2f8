"""Charts, rates, trends and tolerance intervals of sequences of numbers."""
