"""Pure arithmetic of coating film: units, build, acceptance, map, mass balance."""
