"""Telling people, in time and once: who is owed which notice, and how it is sent."""
