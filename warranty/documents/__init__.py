"""Documents: frozen facts in, bytes out. No database, no settings, no clock."""
