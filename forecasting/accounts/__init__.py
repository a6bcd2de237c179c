"""The accountant's half: how rigging is accounted for, what it cost, and the reserve for it."""
