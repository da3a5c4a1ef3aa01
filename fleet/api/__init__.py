"""The API of what is on the road."""
