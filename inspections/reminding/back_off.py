"""When a message that failed is tried again, and until when."""

import datetime as dt

# Soon at first (a server restarting, a mailbox greylisted), then rarely (one that is down).
WAITS = tuple(dt.timedelta(minutes=each) for each in (5, 15, 60, 180, 360))


def wait(attempts: int) -> dt.timedelta:
    """Return how long to wait after so many attempts, at least one."""
    return WAITS[min(max(attempts, 1), len(WAITS)) - 1]


def next_try(now: dt.datetime, attempts: int) -> dt.datetime:
    """Return the moment from which it is tried again."""
    return now + wait(attempts)


def is_over(first_tried_at: dt.datetime | None, now: dt.datetime, hours: int) -> bool:
    """Return whether it has been tried for longer than the fleet allows."""
    return first_tried_at is not None and now - first_tried_at > dt.timedelta(hours=hours)
