"""Writes of promises, standings and claims."""
