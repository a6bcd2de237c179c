"""Charter bookings: read from a sheet or a calendar file, and what they leave free."""
