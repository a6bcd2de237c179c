"""What is believed of a kind of part before the fleet's own record, and since when."""

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from fleet.access import member
from fleet.models import Installation, Membership

from .. import deciding
from ..models import ForecastPractice
from ..practice import common_practice, prior_in_force, with_decision
from ..practice_form import PracticeForm, as_words


@member()
def practice(request: HttpRequest) -> HttpResponse:
    """Show common practice as this fleet holds it; a manager may put its own in the place."""
    kind = request.POST.get("kind") or request.GET.get("kind") or Installation.Kind.WIRE
    if kind not in Installation.Kind.values:
        raise Http404("No such kind of part.")
    may_decide = request.role == Membership.Role.MANAGER
    if request.method == "POST" and not may_decide:
        raise PermissionDenied("Only a manager of this fleet changes what it goes by.")
    prior = prior_in_force(request.fleet, kind, request.fleet.today())
    usual = common_practice(request.fleet, kind)
    form = PracticeForm(request.POST or None, prior=prior, usual=usual, kind=kind)
    if request.method == "POST" and form.is_valid():
        deciding.decide(request.fleet, kind, form, request.user)
        messages.success(request, "Saved. The next refresh goes by it.")
        return redirect(f"{reverse('practice', kwargs={'fleet': request.fleet.slug})}?kind={kind}")
    decided = ForecastPractice.objects.of(request.fleet).filter(kind=kind)
    history = [(row, as_words(with_decision(usual, row), kind)) for row in decided]
    context = {"form": form, "kind": kind, "kinds": Installation.Kind.values, "prior": prior,
               "may_decide": may_decide, "history": history}  # fmt: skip
    return render(request, "forecasting/practice.html", context)
