"""The pages of what is on the road."""
