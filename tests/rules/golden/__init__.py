"""What each version of the rules said, written down once."""
