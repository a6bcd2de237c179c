"""What a fleet is made of: boats, the stays of each, the parts fitted there, use and prices."""

from .boats import Base, Boat, CruisingGround
from .fleets import Fleet, Membership
from .parts import Installation, Stay
from .records import Change, ImportRecord
from .sheet_matches import SheetMatch
from .spares import Spare
from .use import Price, SeasonUse
from .work import WorkRow

__all__ = [
    "Base",
    "Boat",
    "Change",
    "CruisingGround",
    "Fleet",
    "ImportRecord",
    "Installation",
    "Membership",
    "Price",
    "SeasonUse",
    "SheetMatch",
    "Spare",
    "Stay",
    "WorkRow",
]
