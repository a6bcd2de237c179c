"""Signs and limits: what each sign means in this fleet, and changing it."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from fleet.access import member
from fleet.models import Membership
from fleet.templatetags.wording import day

from ..criteria import STANDING
from ..judgement.history import criteria_of
from ..limits import sign_lines, versions
from ..limits.limit_form import LimitForm
from ..limits.what_if import what_if

SHIFTS_SHOWN = 20


@member()
def signs(request: HttpRequest) -> HttpResponse:
    """Every sign with its picture, limit, verdict and source; how the fleet's own came about."""
    fleet, today = request.fleet, request.fleet.today()
    criteria, made = criteria_of(fleet, today), versions.decisions(fleet)
    own = versions.own_since(made, today)
    context = {
        "groups": sign_lines.groups(criteria, own),
        "criteria": criteria,
        "own": len(own),
        "made": made[::-1],
        "coming": [each for each in made if each.row.since > today],
        "may_change": request.role == Membership.Role.MANAGER,
        "standing": STANDING,
    }
    return render(request, "inspections/signs.html", context)


@member(Membership.Role.MANAGER)
def sign_change(request: HttpRequest) -> HttpResponse:
    """Ask for the new rule, show what it would have changed, and write it when confirmed."""
    fleet, code = request.fleet, request.GET.get("sign", "")
    if not code:
        return redirect("signs", fleet=fleet.slug)
    if code not in versions.newest(fleet):
        raise Http404("No such sign.")
    form = LimitForm(fleet, code, request.POST if request.method == "POST" else None)
    if request.POST.get("step") == "write" and form.may_be_written():
        try:
            return written(request, form)
        except ValidationError as fault:
            form.add_error("since", fault)
    context = {"form": form, "sign": form.sign, "standing": STANDING, "shown": SHIFTS_SHOWN}
    form.is_valid()
    if form.differences:
        context["preview"] = what_if(fleet, form.sign, form.change)
    return render(request, "inspections/sign_change.html", context)


def written(request: HttpRequest, form: LimitForm) -> HttpResponse:
    since, reason = form.cleaned_data["since"], form.cleaned_data["reason"]
    versions.decide(request.fleet, form.sign.code, form.change, since, reason, request.user)
    words = "; ".join(f"{each.what} {each.before} → {each.after}" for each in form.differences)
    messages.success(
        request,
        f"{form.sign.label}: {words}, in force from {day(since)}. "
        "Verdicts already given stay as they are.",
    )
    return redirect("signs", fleet=request.fleet.slug)
