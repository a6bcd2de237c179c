"""The sheets of inspections and findings, and files handed in."""
