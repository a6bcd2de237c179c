"""Days from one another, in the words of people."""

import datetime as dt

from fleet.templatetags.wording import day

TEN_WEEKS = 70
DAYS_A_MONTH = 365.25 / 12


def when(due_on: dt.date, today: dt.date) -> str:
    """Return ``by 3 May 2026, in 7 days`` or ``was due 3 May 2026, 12 days ago``."""
    words = span_words(abs((due_on - today).days))
    if due_on == today:
        return "today"
    on = day(due_on)
    return f"was due {on}, {words} ago" if due_on < today else f"by {on}, in {words}"


def span_words(days: int) -> str:
    """Return a span of time as people say it: days, from ten weeks on months, then years."""
    if days < TEN_WEEKS:
        return f"{days} day{'' if days == 1 else 's'}"
    months = round(days / DAYS_A_MONTH)
    if months < 24:
        return f"{months} months"
    return f"{months // 12} years" + (f" {months % 12} months" if months % 12 else "")
