"""The engineer's commands on recordings: rehearse, timings, captions."""
