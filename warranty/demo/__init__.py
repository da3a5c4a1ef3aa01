"""An invented fleet with seven years of history, to look around in."""
