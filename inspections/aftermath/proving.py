"""What is missing of a renewal on record: its day, its invoice or log reference, who fitted it.

Until it is there the boat stays held for the part that came off (see ``judgement.proof``).
"""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass

from django import forms
from django.core.exceptions import ValidationError
from django.db import transaction

from fleet.models import Boat, Change, Installation
from fleet.templatetags.wording import day

from ..dock.forms import DayInput
from ..judgement.history import name_of
from ..judgement.proof import missing
from ..models import Hold
from ..recording import judge

BLANK = "blank"


@dataclass(frozen=True)
class Proof:
    """What proves that a part was fitted."""

    fitted_on: dt.date
    invoice: str
    fitter: str


class ProofForm(forms.Form):
    """Day, invoice and fitter of a part that is up, as far as they are on record."""

    fitted_on = forms.DateField(label="Fitted on", widget=DayInput())
    invoice = forms.CharField(
        label="Invoice or log reference",
        max_length=60,
        help_text="Where there is no invoice, the page of the log.",
    )
    fitter = forms.CharField(label="Fitted by", max_length=120)

    def __init__(self, part: Installation, data: Mapping | None = None) -> None:
        known = part.fitted_on if part.fitted_certainty == Installation.Certainty.DAY else None
        shown = {"fitted_on": known, "invoice": part.invoice, "fitter": part.fitter}
        super().__init__(data, initial=shown)

    def proof(self) -> Proof:
        return Proof(**self.cleaned_data)


def waiting(old: Installation) -> Hold | None:
    """Return the hold for a part whose renewal is on record without proof."""
    rows = Hold.objects.standing().filter(installation=old, unproved__isnull=False)
    return rows.select_related("unproved__stay__boat__fleet").order_by("since", "pk").first()


@transaction.atomic
def prove(hold: Hold, proof: Proof, user=None) -> Installation:
    """Add to the record what proves the renewal that this hold waits for; it lifts by that.

    Raises ValidationError, in words, where something is still missing or cannot be.
    """
    Boat.objects.select_for_update().get(pk=hold.boat_id)
    new = Installation.objects.select_related("stay__boat__fleet").get(pk=hold.unproved_id)
    was = Proof(new.fitted_on, new.invoice, new.fitter)
    new.fitted_on, new.fitted_certainty = proof.fitted_on, Installation.Certainty.DAY
    new.invoice, new.fitter = proof.invoice.strip(), proof.fitter.strip()
    _check(hold, new)
    new.full_clean(exclude=["stay"])
    new.save(update_fields=["fitted_on", "fitted_certainty", "invoice", "fitter"])
    _note(new, was, user)
    judge([hold.boat_id])
    return new


def _check(hold: Hold, new: Installation) -> None:
    off = hold.installation.removed_on
    if new.fitted_on > hold.boat.fleet.today():
        raise ValidationError(f"{day(new.fitted_on)} is still to come. Give the day.")
    if off and new.fitted_on < off:
        raise ValidationError(
            f"The part before it came off on {day(off)}; the new one cannot have been fitted "
            "before that."
        )
    lacks = missing(new, hold.since)
    if lacks:
        raise ValidationError(f"Still missing: {', '.join(lacks)}.")


def _note(new: Installation, was: Proof, user) -> None:
    said = [
        f"fitted {_shown(was.fitted_on)}, now {day(new.fitted_on)}",
        f"invoice {was.invoice or BLANK}, now {new.invoice}",
        f"fitter {was.fitter or BLANK}, now {new.fitter}",
    ]
    names = ("fitted_on", "invoice", "fitter")
    Change.objects.create(
        fleet=new.stay.boat.fleet,
        boat=new.stay.boat,
        what=f"{name_of(new)}, renewal proved: {'; '.join(said)}"[:300],
        by=user,
        before=vars(was),
        after={name: getattr(new, name) for name in names},
    )


def _shown(on: dt.date | None) -> str:
    return day(on) if on else BLANK


def unproved(boats: list[Boat]) -> list[str]:
    """Return, in a sentence each, which of these boats stay held though a new part is up."""
    rows = Hold.objects.standing().filter(boat__in=boats, unproved__isnull=False)
    rows = rows.select_related("boat").order_by("boat__name", "since", "pk")
    return [f"{row.boat} stays held. {row.reason}" for row in rows]
