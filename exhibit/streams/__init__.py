"""STREAMS: recordings on disc, and their pacing."""
