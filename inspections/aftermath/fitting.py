"""A renewal as its form says it, with the part from store it takes."""

from django.db import transaction

from fleet.models import Installation

from .. import recording
from . import store
from .forms import FittingForm


@transaction.atomic
def fitted(part: Installation, form: FittingForm) -> Installation:
    """Record the renewal, and that a part in store is on the boat now, both or neither.

    Returns the new part.
    """
    facts, spare = form.renewal(), form.cleaned_data.get("spare")
    new = recording.record_renewal(part, **facts)
    if spare:
        store.take(spare, new.fitted_on, new.fitter, f"{part.stay.boat}", fitted_as=new)
    return new
