"""Faults planted one by one in a copy of the program: each must turn its named test red."""
