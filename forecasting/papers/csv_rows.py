"""Rows as CSV (RFC 4180, UTF-8) that say whose they are, of which day, and on what they rest."""

from collections.abc import Iterable, Sequence

from fleet.models import Fleet
from fleet.spreadsheets.csv_files import write_csv

from .masthead import CAUTION, rests_on


def csv_of(fleet: Fleet, headers: Sequence[str], rows: Iterable[Sequence]) -> bytes:
    """Return the rows, each after fleet, day and currency; notes at the end, as wide as a row."""
    standing, models = rests_on(fleet)
    head = ("fleet", "as of", "currency")
    whose = (fleet.name, fleet.today(), fleet.currency)
    notes = [("note", " ".join(filter(None, [standing, models]))), ("note", CAUTION)]
    lines = [(*head, *headers), *[(*whose, *row) for row in rows]]
    width = len(lines[0])
    return write_csv(lines + [(*note, *("",) * (width - len(note))) for note in notes]).encode()
