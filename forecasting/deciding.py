"""What a manager decides about the forecast, with reason and day."""

from django.contrib.auth.models import AbstractBaseUser

from fleet.models import Fleet

from .models import ForecastPractice
from .practice_form import PracticeForm


def decide(fleet: Fleet, kind: str, form: PracticeForm, user: AbstractBaseUser) -> ForecastPractice:
    """Keep what a valid form says as the fleet's practice from today on; earlier rows stay."""
    return ForecastPractice.objects.create(
        fleet=fleet,
        kind=kind,
        since=fleet.today(),
        reason=form.cleaned_data["reason"],
        decided_by=user.get_full_name() or user.get_username(),
        data=form.data_of_prior(),
    )
