"""Reads of promises, standings and claims."""
