"""Template tags of the inspections."""
