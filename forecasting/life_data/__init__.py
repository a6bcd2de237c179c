"""From the record of a fleet to the rows of a fit: one row per spot of every part.

How each history enters is the table of ``lives``; what cannot enter is left out, counted by reason.
"""

from .records import Records, read
from .table import LEFT_OUT, LifeTable, lives
from .trials import foretold, looks

__all__ = ["LEFT_OUT", "LifeTable", "Records", "foretold", "lives", "looks", "read"]
