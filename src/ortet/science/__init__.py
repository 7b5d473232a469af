"""What wood does: pure functions on arrays, one subject a file, every constant with its source."""
