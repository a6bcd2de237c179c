"""A fleet's own limits: how they came about, changing one, and what that would have changed."""
