"""A fleet's own words for subject, opening and closing of its messages: kept, all versions."""

import datetime as dt
from collections.abc import Mapping

from django.db.models import QuerySet

from fleet.models import Fleet

from ..models import Wording
from . import placeholders

PIECES = tuple(Wording.Piece.values)


def in_force(fleet: Fleet, language: str) -> dict[str, str]:
    """Return the newest text of each piece in that language; blank for the usual words."""
    rows = Wording.objects.of(fleet).filter(language=language).order_by("at", "pk")
    return dict.fromkeys(PIECES, "") | {row.piece: row.text for row in rows}


def versions(fleet: Fleet) -> QuerySet[Wording]:
    """Return every text that was ever in force, newest first."""
    return Wording.objects.of(fleet)


def filled(texts: Mapping[str, str], values: Mapping[str, object]) -> dict[str, str]:
    """Return the texts of each piece with their names replaced."""
    return {
        piece: placeholders.fill(text, values).strip()
        for piece, text in texts.items()
        if piece in PIECES
    }


def keep(
    fleet: Fleet, language: str, texts: Mapping[str, str], by: str, now: dt.datetime
) -> list[str]:
    """Keep what differs from what is in force; return which pieces. Faults: ``placeholders``."""
    before = in_force(fleet, language)
    changed = [piece for piece in PIECES if texts[piece].strip() != before[piece]]
    for piece in changed:
        Wording.objects.create(
            fleet=fleet, piece=piece, language=language, text=texts[piece].strip(),
            by_name=by, at=now,
        )  # fmt: skip
    return changed
