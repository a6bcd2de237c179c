"""What one part is ordered by: each line as on record, or to be measured first."""

from fleet.models import Installation
from fleet.templatetags import wording

MEASURE = "measure before ordering"
Part = Installation  # A fitted part, or a Spare: both are described by the same fields.


def rows(part: Part) -> list[tuple[str, str]]:
    """Return (what, value) in the order in which a cut sheet is read."""
    if part.kind == Installation.Kind.CHAINPLATE:
        return [("Pin, mm", millimetres(part.pin_mm)), ("Drawing or pattern", MEASURE)]
    if part.kind == Installation.Kind.TURNBUCKLE:
        return [
            ("Thread, mm", millimetres(part.diameter_mm)),
            ("Thread and hand", stated(part, "thread")),
            ("Pin, mm", millimetres(part.pin_mm)),
            ("Closed and open length, mm", MEASURE),
            ("Toggle and fork", MEASURE),
        ]
    return [
        ("Construction", ", ".join(filter(None, [construction(part), part.alloy])) or MEASURE),
        ("Diameter, mm", millimetres(part.diameter_mm)),
        ("Pin to pin, mm", millimetres(part.length_mm)),
        ("Adjuster setting at that length", MEASURE),
        ("Lower terminal", part.get_lower_terminal_display() or MEASURE),
        ("Upper terminal", part.get_upper_terminal_display() or MEASURE),
        ("Pin, mm", millimetres(part.pin_mm)),
        ("Thread and hand", stated(part, "thread")),
        ("Mast end", stated(part, "mast_end")),
    ]


def construction(part: Part) -> str:
    return part.get_construction_display() if part.construction else ""


def millimetres(value: float | None) -> str:
    return wording.millimetres(value) if value else MEASURE


def stated(part: Part, name: str) -> str:
    """Return what only a part in store has on record; of a fitted one it is to be measured."""
    return getattr(part, name, "") or MEASURE


def unknown(part: Part) -> int:
    """Return how many lines have to be measured."""
    return sum(value == MEASURE for _, value in rows(part))
