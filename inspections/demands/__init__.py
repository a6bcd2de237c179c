"""Demands of others: entered, answered, accepted; what on record satisfies them is worked out."""
