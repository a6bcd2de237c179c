"""When somebody may be written to: never in their quiet hours, by the clock on their own wall."""

import datetime as dt
from dataclasses import dataclass
from zoneinfo import ZoneInfo


@dataclass(frozen=True)
class Hours:
    """A person's time zone and quiet hours, each 0 to 23; none where either end is None.

    Quiet from 22 until 7 goes over midnight. From and until the same hour means none: a day that
    is quiet throughout would keep every reminder back.
    """

    zone: str
    quiet_from: int | None = None
    quiet_until: int | None = None

    def awake(self, now: dt.datetime) -> bool:
        """Return whether mail may go at that moment. ``now`` knows its zone.

        The wall clock decides, so that on the days the clocks change an hour that is left out or
        comes twice is judged like any other hour of that name.
        """
        start, end = self.quiet_from, self.quiet_until
        if start is None or end is None or start == end:
            return True
        hour = now.astimezone(ZoneInfo(self.zone)).hour
        quiet = start <= hour < end if start < end else hour >= start or hour < end
        return not quiet
