"""Scripts decided again over a recording, in virtual time and without a machine."""
