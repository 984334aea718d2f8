"""Facts and bytes go in, commands come out."""
