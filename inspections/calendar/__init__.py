"""One calendar of all that is due: its page, its rows for calendars outside, who subscribes."""
