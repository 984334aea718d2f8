"""What `exhibit sums` says about a machine's recordings."""
