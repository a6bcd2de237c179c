"""After a find or an event: what holds the boat, what lifts it, and what else is to be done."""
