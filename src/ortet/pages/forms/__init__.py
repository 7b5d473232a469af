"""One form for each deed; each knows what it asks, and why."""
