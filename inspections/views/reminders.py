"""Who is reminded of what, and the mail as it went out."""

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
from ..models import Reminder
from ..reminders import step
from ..tables import DueTable, ReminderTable, step_words
from .looks import WRITERS


@member()
def reminders(request: HttpRequest) -> HttpResponse:
    today = request.fleet.today()
    soon = [each for each in due(request.fleet, today) if step(each.on, today) is not None]
    late = {each.boat.pk for each in soon if each.on < today and each.kind in LOOKS}
    due_table = DueTable(soon, prefix="due-", fleet=request.fleet, today=today)
    rows = Reminder.objects.of(request.fleet).select_related("boat__fleet")
    narrowed = ReminderFilter(request.GET, queryset=rows, request=request)
    table = ReminderTable(narrowed.qs)
    for each in (due_table, table):
        RequestConfig(request, paginate={"per_page": 25}).configure(each)
    looks = [each for each in soon if each.kind in LOOKS]
    context = {
        **due_chart.shown(((each.boat.pk, each.boat.name, each.on) for each in looks), today),
        "due_table": due_table,
        "late": len(late),
        "soon": len({each.boat.pk for each in soon if each.on >= today}),
        "table": table,
        "filter": narrowed,
        "failed": rows.filter(state=Reminder.State.FAILED).count(),
        "half_sent": half_sent(request.fleet, timezone.now()).count(),
        "may_send": request.role in WRITERS,
    }
    return render(request, "inspections/reminders.html", context)


@member(*WRITERS)
@require_POST
def send_again(request: HttpRequest) -> HttpResponse:
    """Ask for the day's round once more, as work: what failed and what is due goes out."""
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
