"""Settings and wiring. Nobody imports this room."""
