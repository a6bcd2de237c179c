"""Sheets as a bosun keeps them, matched to ours: proposed, asked about, applied. No Django."""

from .applying import Matched, Origin, apply
from .asking import Question, questions
from .headers import fingerprint
from .match import ColumnMatch, Match, TableMatch
from .proposing import propose, rematched, settled_match

__all__ = [
    "ColumnMatch",
    "Match",
    "Matched",
    "Origin",
    "Question",
    "TableMatch",
    "apply",
    "fingerprint",
    "propose",
    "questions",
    "rematched",
    "settled_match",
]
