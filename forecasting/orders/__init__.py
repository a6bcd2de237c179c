"""Work orders: drawn up from a list or plan, given out, ticked line by line, closed."""
