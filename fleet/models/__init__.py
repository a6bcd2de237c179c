"""What a fleet is made of: boats, the stays of each, the parts fitted there, use and prices."""

from .boats import Base, Boat, CruisingGround
from .fleets import Fleet, Membership
from .parts import Installation, Stay
from .use import Price, SeasonUse
from .work import WorkRow

__all__ = [
    "Base",
    "Boat",
    "CruisingGround",
    "Fleet",
    "Installation",
    "Membership",
    "Price",
    "SeasonUse",
    "Stay",
    "WorkRow",
]
