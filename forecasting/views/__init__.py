"""Pages: parse, ask, render."""
