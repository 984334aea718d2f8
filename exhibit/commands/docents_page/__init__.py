"""The command `exhibit desk`: serves the docent's page, and says who may use it."""
