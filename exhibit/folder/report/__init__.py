"""What `exhibit check` says about a folder."""
