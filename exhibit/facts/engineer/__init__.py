"""Facts that an engineer writes down: work done, what was measured, which packs there are."""
