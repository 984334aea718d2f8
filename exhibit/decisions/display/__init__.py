"""From bytes to complete items, and from items to what stands on a screen or on paper."""
