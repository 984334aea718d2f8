"""The docent's page as a pure fold of a recording's facts."""
