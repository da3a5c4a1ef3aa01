"""The office's side of field work: what to look at, phones, bookings."""
