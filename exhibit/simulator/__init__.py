"""The invented machine, the Whimbrel of Sallowmouth: a pure core with thin shells."""
