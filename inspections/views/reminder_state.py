"""Whether reminders run; who would get what before the first sending; a test to oneself."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from fleet.access import member
from fleet.models import WorkRow
from fleet.work import asking

from ..models import Notice, Reminder, ReminderRules, RoundRun
from ..reminding import addressees, health, preview
from .looks import WRITERS

ROUNDS_SHOWN = 14
KIND = WorkRow.Kind.REMINDERS


@member()
def health_page(request: HttpRequest) -> HttpResponse:
    state = health.of(request.fleet, timezone.now())
    labels = dict(Reminder.State.choices)
    context = {
        "health": state,
        "queue": [(value, labels[value], number) for value, number in state.queue.items()],
        "rounds": RoundRun.objects.of(request.fleet)[:ROUNDS_SHOWN],
        "notices": Notice.objects.of(request.fleet)[:ROUNDS_SHOWN],
        "under_way": health.open_work(request.fleet),
    }
    return render(request, "inspections/reminders_health.html", context)


@member(*WRITERS)
def preview_page(request: HttpRequest) -> HttpResponse:
    """Who gets what with the next round, each message as it would read. GET writes nothing."""
    fleet, today = request.fleet, request.fleet.today()
    wanted = preview.who_gets_what(fleet, today)
    asked = addressees.normal(request.GET.get("to", ""))
    chosen = [w for w in wanted if addressees.normal(w.first.to_email) == asked] or wanted[:1]
    context = {
        "wanted": wanted,
        "things": sum(len(each.rows) for each in wanted),
        "chosen": chosen[0] if chosen else None,
        "letter": preview.text(fleet, chosen[0], today) if chosen else None,
        "rules": ReminderRules.of(fleet),
        "now": timezone.now(),
    }
    return render(request, "inspections/reminders_preview.html", context)


@member(*WRITERS)
@require_POST
def let_go(request: HttpRequest) -> HttpResponse:
    """Let the first sending go, and ask for it as work."""
    name = request.user.get_full_name() or request.user.get_username()
    preview.approve(request.fleet, name, timezone.now())
    row = asking.ask(request.fleet, KIND, request.user, key="now", try_now=True)
    return redirect("work", fleet=request.fleet.slug, pk=row.pk)


@member(*WRITERS)
@require_POST
def hold_back(request: HttpRequest) -> HttpResponse:
    """Take it back: nothing more goes until somebody lets it go again."""
    preview.hold_back(request.fleet)
    messages.success(request, "No reminder goes out until somebody lets the next round go.")
    return redirect("reminders_preview", fleet=request.fleet.slug)


@member(*WRITERS)
@require_POST
def test_to_me(request: HttpRequest) -> HttpResponse:
    """Ask for a test message to oneself, as work: mail is sent beside the pages."""
    if not request.user.email:
        messages.error(request, "You have no mail address here: a manager can enter one.")
        return redirect("reminders_preview", fleet=request.fleet.slug)
    row = asking.ask(request.fleet, KIND, request.user, key=f"test {request.user.pk}", test=True)
    return redirect("work", fleet=request.fleet.slug, pk=row.pk)
