"""Pure hashing: canonical payloads, a roof's chain, the tree over all heads."""
