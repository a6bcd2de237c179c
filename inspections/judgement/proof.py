"""What proves that a part which held its boat was renewed: the day, an invoice or log reference,
and who fitted it.

A renewal of years ago, on record before anybody stood in the way of that boat, needs none: what is
not known of it shows as the certainty of its date. Only a part that held its boat on this record
(``Installation.proof_due``) is renewed by proof.
"""

import datetime as dt

from fleet.models import Installation
from fleet.templatetags.wording import day

DAY = Installation.Certainty.DAY


def missing(new: Installation, since: dt.date) -> list[str]:
    """Return in words what is missing of the part fitted for one that held its boat ``since``."""
    known = new.fitted_on is not None and new.fitted_certainty == DAY
    lacks = [] if known else ["the day it was fitted"]
    if known and new.fitted_on < since:
        lacks.append(f"a day of fitting that is not before {day(since)}, when the boat was held")
    if not says_something(new.invoice):
        lacks.append("its invoice or log reference")
    if not says_something(new.fitter):
        lacks.append("who fitted it")
    return lacks


def says_something(text: str) -> bool:
    """Whether a cell holds more than a dash or a question mark."""
    return any(letter.isalnum() for letter in text)


def sentence(new: Installation, since: dt.date) -> str:
    """Return why the part put up does not release the boat; blank where nothing is missing."""
    lacks = missing(new, since)
    if not lacks:
        return ""
    *most, last = lacks
    words = f"{', '.join(most)} and {last}" if most else last
    return (
        f"A new one is on record, not proved: add {words}, under “Not released” or in the table of "
        "the boat's parts."
    )
