"""What was promised, whether it holds, and what is claimed."""
