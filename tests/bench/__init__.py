"""Figures, each beside the ceiling it is measured against."""
