"""The summary by mail: asked for, and shown as it went out."""

from django.contrib import messages
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from fleet.access import member
from fleet.models import WorkRow
from fleet.work import asking
from inspections import mail_folder

from .. import reads, summaries
from ..models import SummaryMail


@member(*summaries.READERS)
@require_POST
def summary_ask(request: HttpRequest) -> HttpResponse:
    """Ask for the summary by mail to oneself, as work, and go to its page."""
    fleet, user = request.fleet, request.user
    if not user.email:
        messages.error(request, "No mail address of yours is kept here: ask a manager to add it.")
        return redirect("budget", fleet=fleet.slug)
    if not (reads.has_outlook(fleet) and reads.budget(fleet, "fleet").exists()):
        messages.error(request, "There is nothing to send yet: the fleet has not been forecast.")
        return redirect("budget", fleet=fleet.slug)
    with transaction.atomic():
        mail = summaries.ask(fleet, user)
        row = asking.ask(fleet, WorkRow.Kind.SUMMARY, user, key=f"{mail.pk}", mail=mail.pk)
    return redirect("work", fleet=fleet.slug, pk=row.pk)


@member()
def summary(request: HttpRequest, pk: int) -> HttpResponse:
    """Show the message as it went out; it says what the pages show to every member."""
    mail = get_object_or_404(SummaryMail.objects.of(request.fleet), pk=pk)
    context = {"mail": mail, "letter": mail_folder.read(mail.message_id)}
    return render(request, "forecasting/summary.html", context)
