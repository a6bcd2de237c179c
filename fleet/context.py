"""What every page shows: the fleet, its date, and the reader's role in it."""

from django.http import HttpRequest


def current_fleet(request: HttpRequest) -> dict:
    fleet = getattr(request, "fleet", None)
    if fleet is None:
        return {}
    return {"fleet": fleet, "role": request.role, "today": fleet.today()}
