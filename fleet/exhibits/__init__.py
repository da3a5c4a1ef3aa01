"""What a photo or file says of itself: its kind, its clock and place, its likeness.

Every module here is pure but :mod:`fleet.exhibits.develop`, the one that decodes
pictures, which runs as a process of its own.
"""
