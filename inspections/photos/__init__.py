"""Photos of what was found: drawn anew, kept in the fleet's folder, shown to its members."""
