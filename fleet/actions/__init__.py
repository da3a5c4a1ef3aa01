"""Writes: one verb, one transaction, one or more ledger entries."""
