"""Booked visits as a calendar that other programs subscribe to."""
