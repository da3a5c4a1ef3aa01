"""What the runs of this room are called."""

from __future__ import annotations

SWEEP_NOTICES = "sweep_notices"
SEND_MESSAGE = "send_message"
TELL_OFFICE = "tell_office"
