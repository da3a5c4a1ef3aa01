"""Drawings on pages: SVG written by hand, with classes and no styles."""
