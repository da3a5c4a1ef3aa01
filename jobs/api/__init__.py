"""The API of later work."""
