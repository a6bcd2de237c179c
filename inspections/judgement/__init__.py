"""From a boat's record to verdicts and holds: everything here follows from facts."""
