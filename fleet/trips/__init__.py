"""Pure: which places a mobile crew visits on one day, and in which order."""
