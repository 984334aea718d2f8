"""The public stream for an audience beyond the building: out to Redis, and pages from there."""
