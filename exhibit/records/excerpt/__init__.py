"""A span of a recording to carry away: one HTML file that needs nothing else, text, captions, a table."""
