"""Everything that a claim packet prints, read as known when it was asked for."""
