"""The form for recording an inspection."""
