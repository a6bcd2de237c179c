"""A mast stepped again: what was checked, two signatures by two people, and the re-tension."""

import datetime as dt
from collections.abc import Sequence

from django.core.exceptions import ValidationError
from django.db import transaction

from fleet.models import Boat
from fleet.templatetags.wording import day

from ..followups import Stepping
from .happenings import noted

# Common practice, no source. What is signed for is kept with the signature, in these words.
CHECKS = (
    ("pins_in", "Every clevis pin in, of the right size, its head up or inboard"),
    ("pins_opened", "Every split pin in and its legs opened"),
    ("pins_taped", "Split pins and locking wire taped"),
    ("locks", "Every turnbuckle locked, thread engaged by 1.5 diameters or more at both ends"),
    ("tune", "Mast straight athwartships, rig tuned at the dock"),
)
MISSING = "stepped, second signature missing"
# New wire beds in at the first hard sail (common practice, no source); two weeks is when to ask.
RETENSION_DAYS = 14


def folded(name: str) -> str:
    return " ".join(name.casefold().split())


@transaction.atomic
def step(
    boat: Boat, on: dt.date, person: str, checked: Sequence[str], tune: str, user=None
) -> Stepping:
    """Record that the mast is up, with the first signature; return the Stepping.

    ``checked``: codes of CHECKS. All of them, or the mast is not ready to be signed for.
    """
    _not_to_come(boat, on, "The mast")
    missing = [words for code, words in CHECKS if code not in checked]
    if missing:
        raise ValidationError(f"Not signed for: {missing[0]}. Do it, then record the stepping.")
    if not person.strip():
        raise ValidationError("Say who checked it and signs.")
    if Stepping.objects.filter(boat=boat, on=on).exists():
        raise ValidationError(f"The stepping of {day(on)} is already on record.")
    return Stepping.objects.create(
        boat=boat,
        on=on,
        person=person.strip(),
        checked=[words for _, words in CHECKS],
        tune=tune.strip(),
        by=user,
    )


def _not_to_come(boat: Boat, on: dt.date, what: str) -> None:
    if on > boat.fleet.today():
        raise ValidationError(f"{what}: {day(on)} is still to come.")


@transaction.atomic
def sign_second(stepping: Stepping, on: dt.date, person: str) -> None:
    """Add the second signature, by another person than the first."""
    row = Stepping.objects.select_for_update().get(pk=stepping.pk)
    if row.second_on:
        raise ValidationError(f"{row.second_person} signed second on {day(row.second_on)}.")
    if not person.strip() or folded(person) == folded(row.person):
        raise ValidationError(f"The second signature is another person's than {row.person}'s.")
    _not_to_come(row.boat, on, "The signature")
    if on < row.on:
        raise ValidationError(f"The mast was stepped on {day(row.on)}, after that day.")
    row.second_person, row.second_on = person.strip(), on
    row.save(update_fields=["second_person", "second_on"])


@transaction.atomic
def retension(stepping: Stepping, on: dt.date, person: str) -> None:
    """Record that the rig was tensioned anew after the first hard sail."""
    row = Stepping.objects.select_for_update().get(pk=stepping.pk)
    if row.retensioned_on:
        raise ValidationError(f"Re-tensioned on {day(row.retensioned_on)} already.")
    if not person.strip():
        raise ValidationError("Say who re-tensioned it.")
    _not_to_come(row.boat, on, "The work")
    if on < row.on:
        raise ValidationError(f"The mast was stepped on {day(row.on)}, after that day.")
    row.retensioned_on, row.retensioned_by = on, person.strip()
    row.save(update_fields=["retensioned_on", "retensioned_by"])


@transaction.atomic
def take_back(stepping: Stepping, user=None) -> None:
    """Strike a stepping entered by mistake, as long as nobody else signed it."""
    row = Stepping.objects.select_for_update().get(pk=stepping.pk)
    if row.second_on or row.retensioned_on:
        raise ValidationError("Somebody else has signed on it since: it stays on record.")
    words = f"Mast up again on {day(row.on)}, signed by {row.person}: taken back"
    noted(row.boat, words, user)
    row.delete()
