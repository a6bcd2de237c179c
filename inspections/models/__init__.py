"""What was seen, what it means, what is held because of it, and who is reminded."""

from .bookings import Booking
from .calendars import CalendarEntry, CalendarFeed, CalendarRound
from .demands import Demand, DemandChange
from .listening import Addressee, ReminderRules, SetAside, Wording
from .outbox import Heartbeat, Notice, RoundRun
from .record import (
    LEFT_OUT,
    NOT_REACHED,
    SKIPPED,
    CriteriaVersion,
    Finding,
    HandIn,
    Hold,
    InspectBy,
    Inspection,
    OfBoat,
    PartVerdict,
    SpotState,
    VerdictValue,
)
from .reminding import Reminder
from .sent import DockUpload, InspectionVersion, Photo, PhotoQuerySet

__all__ = [
    "LEFT_OUT",
    "NOT_REACHED",
    "SKIPPED",
    "Addressee",
    "Booking",
    "CalendarEntry",
    "CalendarFeed",
    "CalendarRound",
    "CriteriaVersion",
    "Demand",
    "DemandChange",
    "DockUpload",
    "Finding",
    "HandIn",
    "Heartbeat",
    "Hold",
    "InspectBy",
    "Inspection",
    "InspectionVersion",
    "Notice",
    "OfBoat",
    "PartVerdict",
    "Photo",
    "PhotoQuerySet",
    "Reminder",
    "ReminderRules",
    "RoundRun",
    "SetAside",
    "SpotState",
    "VerdictValue",
    "Wording",
]
