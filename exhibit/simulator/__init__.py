"""The invented machine: the Whimbrel of Sallowmouth. A pure core with thin shells."""
