"""Group what is due into day trips."""
