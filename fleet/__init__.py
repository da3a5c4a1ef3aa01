"""What is on the road and on its roof: coaches, roofs, visits, readings, ledger."""
