"""Which boat stands in the yard in which weeks of one off season."""
