"""What is due, who was told, and each reminder with the mail as it went out."""

from django.db.models import Count
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST
from django_tables2 import RequestConfig

from fleet.access import member
from fleet.models import WorkRow
from fleet.work import asking

from .. import due_chart, mail_folder
from ..delivery import half_sent
from ..due import LOOKS, due
from ..filters import ReminderFilter
from ..models import Reminder, ReminderRules, SetAside
from ..reminders import step
from ..reminding import health, outbox_words
from ..tables import DueTable, ReminderTable, step_words
from .looks import WRITERS


@member()
def reminders(request: HttpRequest) -> HttpResponse:
    """What is due now or soon, by when and why, and what nobody is reminded of for a while."""
    today = request.fleet.today()
    soon = [each for each in due(request.fleet, today) if step(each.on, today) is not None]
    late = {each.boat.pk for each in soon if each.on < today and each.kind in LOOKS}
    writes = request.role in WRITERS
    table = DueTable(soon, prefix="due-", fleet=request.fleet, today=today, may_write=writes)
    RequestConfig(request, paginate={"per_page": 25}).configure(table)
    looks = [each for each in soon if each.kind in LOOKS]
    aside = SetAside.objects.of(request.fleet).select_related("boat__fleet")
    context = {
        **due_chart.shown(((each.boat.pk, each.boat.name, each.on) for each in looks), today),
        "due_table": table,
        "late": len(late),
        "soon": len({each.boat.pk for each in soon if each.on >= today}),
        "offered": aside.filter(state=SetAside.State.OFFERED),
        "in_force": aside.in_force(today),
        "health": health.of(request.fleet, timezone.now()),
        "half_sent": half_sent(request.fleet, timezone.now()).count(),
        "may_send": writes,
    }
    return render(request, "inspections/reminders.html", context)


@member()
def outbox(request: HttpRequest) -> HttpResponse:
    """Every reminder: to whom, about what, how far it has got, and why it did not arrive."""
    rows = Reminder.objects.of(request.fleet).select_related("boat__fleet")
    narrowed = ReminderFilter(request.GET, queryset=rows, request=request)
    table = ReminderTable(narrowed.qs)
    RequestConfig(request, paginate={"per_page": 25}).configure(table)
    numbers = dict(rows.values_list("state").annotate(Count("pk")).order_by())
    labels = dict(Reminder.State.choices)
    context = {
        "table": table,
        "filter": narrowed,
        "headline": outbox_words.headline(numbers),
        "failed": numbers.get(Reminder.State.FAILED, 0),
        "lost": [
            (state, labels[state], numbers[state])
            for state in outbox_words.LOST
            if state in numbers
        ],
        "half_sent": half_sent(request.fleet, timezone.now()).count(),
        "approved": ReminderRules.of(request.fleet).approved_at,
        "may_send": request.role in WRITERS,
    }
    return render(request, "inspections/reminders_outbox.html", context)


@member(*WRITERS)
@require_POST
def send_again(request: HttpRequest) -> HttpResponse:
    """Ask for the day's round once more, as work: what failed and what is due goes out."""
    if ReminderRules.of(request.fleet).approved_at is None:
        return redirect("reminders_preview", fleet=request.fleet.slug)
    row = asking.ask(request.fleet, WorkRow.Kind.REMINDERS, request.user, key="now", try_now=True)
    return redirect("work", fleet=request.fleet.slug, pk=row.pk)


@member()
def reminder(request: HttpRequest, pk: int) -> HttpResponse:
    rows = Reminder.objects.of(request.fleet).select_related("boat__fleet")
    row = get_object_or_404(rows, pk=pk)
    context = {
        "reminder": row,
        "letter": mail_folder.read(row.message_id),
        "step": step_words(row),
    }
    return render(request, "inspections/reminder.html", context)
