"""Renewals in a file that do not release the boat they were made on: told before it is written."""

from fleet.models import Installation
from fleet.spreadsheets.drafts import Draft
from fleet.spreadsheets.part_places import place_of, span_of

from ..judgement import proof
from ..judgement.history import name_of
from ..models import Hold


def note_renewals_without_proof(draft: Draft) -> None:
    """Note each part that holds its boat now and is renewed without proof by the file."""
    holds = Hold.objects.standing().filter(
        boat__fleet=draft.fleet, cause=Hold.Cause.REPLACE, installation__isnull=False
    )
    touched = {boat.pk for boat in draft.touched.values()}
    for hold in holds.filter(boat__in=touched).select_related("installation__stay__boat"):
        sentence = without_proof(hold, draft.known["parts"].get(place_of(hold.installation), []))
        if sentence:
            name = name_of(hold.installation)
            draft.notes.append(f"{hold.boat} stays held for its part “{name}”. {sentence}")


def without_proof(hold: Hold, parts: list[Installation]) -> str:
    """Return what is missing of the part that follows the held one in its place; blank if nothing
    is, or none follows."""
    chain = sorted(parts, key=lambda part: span_of(part).order)
    place = [part.pk for part in chain].index(hold.installation_id)
    after = chain[place + 1 :]
    if not after or after[-1].removed_on or any(not proof.missing(p, hold.since) for p in after):
        return ""
    return proof.sentence(after[-1], hold.since)
