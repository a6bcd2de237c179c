"""Pages of the fleet itself and of its long work."""
