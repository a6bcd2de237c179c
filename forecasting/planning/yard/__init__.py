"""Which boat stands in the yard in which weeks of one off season, by base, with a proven gap."""

from .capacity import WORKING_DAYS, Block, Left, left_after, weeks_touched, working_days
from .leads import Lead, lead_for
from .planner import GAP, plan_yard
from .problem import OUT, Prices, Work, Yard, hindrance, is_late, weeks_open_to
from .result import Full, Lack, Placed, YardAnswer, answer_of

__all__ = [
    "GAP",
    "OUT",
    "WORKING_DAYS",
    "Block",
    "Full",
    "Lack",
    "Lead",
    "Left",
    "Placed",
    "Prices",
    "Work",
    "Yard",
    "YardAnswer",
    "answer_of",
    "hindrance",
    "is_late",
    "lead_for",
    "left_after",
    "plan_yard",
    "weeks_open_to",
    "weeks_touched",
    "working_days",
]
