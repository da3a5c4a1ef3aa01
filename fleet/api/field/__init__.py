"""What phones on roofs ask and send."""
