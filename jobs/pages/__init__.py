"""The pages of later work."""
