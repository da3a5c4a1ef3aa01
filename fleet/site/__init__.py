"""Pure arithmetic of the site: climate, cure, roof plan, take-off, moisture."""
