"""The docent's page server: who may ask what of the bridge, and what it answered."""
