"""Reads: what comes back is what the name says."""
