"""One calendar of all that is due, and who subscribes to it from outside."""

import datetime as dt

from django.conf import settings
from django.contrib import messages
from django.core.paginator import Paginator
from django.db.models import QuerySet
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.utils.cache import get_conditional_response
from django.views.decorators.http import require_safe

from fleet.access import member

from .. import calendar_file
from ..calendar import feeds, months
from ..calendar.feed_forms import FeedForm
from ..due import LOOKS, due
from ..models import CalendarFeed
from .looks import WRITERS

ROWS_A_PAGE = 60
SOON = dt.timedelta(days=30)


@member()
def calendar(request: HttpRequest) -> HttpResponse:
    """Everything due, month by month, each with its reason; late first."""
    fleet, today = request.fleet, request.fleet.today()
    form = months.CalendarForm(fleet, request.GET)
    everything = form.narrowed(due(fleet, today))
    parts = months.counts(everything, today)
    month = request.GET.get("month", "")
    shown = [e for e in everything if not month or months.key_of(e.on, today) == month]
    page = Paginator(shown, ROWS_A_PAGE).get_page(request.GET.get("page"))
    query = request.GET.copy()
    [query.pop(name, None) for name in ("page", "month")]
    context = {
        "form": form,
        "page": page,
        "months": months.months(months.with_advice(fleet, list(page), today), today),
        "parts": parts,
        "month": month,
        "query": query.urlencode(),
        "narrowed": any(request.GET.get(name) for name in form.fields),
        "late": len({e.boat.pk for e in everything if e.on < today and e.kind in LOOKS}),
        "soon": len({e.boat.pk for e in everything if today <= e.on <= today + SOON}),
        "until": today + SOON,
    }
    return render(request, "inspections/calendar/calendar.html", context)


@member()
def calendar_feeds(request: HttpRequest) -> HttpResponse:
    """The reader's own addresses, and those of boats; POST makes, renews or ends one."""
    fleet, writes = request.fleet, request.role in WRITERS
    form = FeedForm(fleet, writes, request.POST if request.POST.get("step") == "make" else None)
    made = None
    if request.method == "POST":
        made = stepped(request, form)
    rows = CalendarFeed.objects.of(fleet).in_force().select_related("boat", "base", "made_by")
    context = {
        "form": form,
        "address": made and site_of(made[1]),
        "webcal": made and f"webcal:{site_of(made[1]).partition(':')[2]}",
        "made": made and feeds.name_of(made[0]),
        "for_boat": made and made[0].boat_id,
        "own": rows.filter(user=request.user),
        "of_boats": rows.exclude(boat=None).order_by("boat__name", "pk") if writes else (),
        "may_write": writes,
    }
    return render(request, "inspections/calendar/feeds.html", context)


def site_of(token: str) -> str:
    return settings.STAYWARD_SITE + reverse("calendar_feed", args=[token])


def stepped(request: HttpRequest, form: FeedForm) -> tuple[CalendarFeed, str] | None:
    """Make or renew an address and return it, to be shown once; or end one."""
    now, step = timezone.now(), request.POST.get("step", "")
    if step == "make":
        return (
            feeds.make(request.fleet, now, **form.whose(request.user)) if form.is_valid() else None
        )
    row = get_object_or_404(mine(request), pk=request.POST.get("feed", "0") or 0)
    if step == "renew":
        return feeds.renew(row, now, request.user)
    if step == "revoke":
        feeds.revoke(row, now)
        messages.success(request, "Ended. Calendars that ask for that address get nothing more.")
    return None


def mine(request: HttpRequest) -> QuerySet[CalendarFeed]:
    """Return the addresses this reader may end: their own, and boats' for who writes."""
    rows = CalendarFeed.objects.of(request.fleet).in_force()
    own = rows.filter(user=request.user)
    return own | rows.exclude(boat=None) if request.role in WRITERS else own


@require_safe
def calendar_feed(request: HttpRequest, token: str) -> HttpResponse:
    """The calendar behind a secret address; without sign-in, and nothing is written."""
    row = feeds.found(token)
    if row is None:
        raise Http404("No calendar answers to this address.")
    name, rows = feeds.name_of(row), feeds.rows_of(row)
    etag = calendar_file.mark(name, rows)
    response = get_conditional_response(request, etag=etag)
    if response is None:
        content = calendar_file.feed(row.fleet, name, rows)
        response = HttpResponse(content, content_type="text/calendar; charset=utf-8")
        response["Content-Disposition"] = 'inline; filename="stayward.ics"'
    response["ETag"] = etag
    response["Cache-Control"] = "private, max-age=900"
    response["X-Robots-Tag"] = "noindex"
    return response
