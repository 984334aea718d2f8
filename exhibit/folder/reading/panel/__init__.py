"""What stands on the machine's front, and what steps and emergencies have people do there."""
