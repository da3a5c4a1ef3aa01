"""Telling other programs what moved: signed, guarded against misuse, and retried."""
