"""Who is written to, when and how; the fleet's rules and words for it."""

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone

from fleet.access import member
from fleet.models import Membership

from ..models import Addressee, ReminderRules
from ..models.listening import Language
from ..reminding import addressees, placeholders, preview, stopping, wordings
from ..reminding import people as reads
from ..reminding.forms import PersonForm, RemindingRulesForm, WordsForm
from .looks import WRITERS

MANAGER = Membership.Role.MANAGER


@member(*WRITERS)
def people(request: HttpRequest) -> HttpResponse:
    """Everybody written to, with what does not arrive first; a manager changes the rules."""
    rules = ReminderRules.of(request.fleet)
    may_change = request.role == MANAGER
    form = RemindingRulesForm(request.POST or None, instance=rules)
    if request.method == "POST":
        if not may_change:
            raise PermissionDenied("Only a manager of this fleet changes its rules.")
        if form.is_valid():
            form.save()
            messages.success(request, "Saved. The next round goes by it.")
            return redirect("reminders_people", fleet=request.fleet.slug)
    everybody = reads.everybody(request.fleet)
    context = {
        "people": sorted(everybody, key=lambda each: each.row.broken_at is None),
        "broken": sum(each.row.broken_at is not None for each in everybody),
        "form": form,
        "may_change": may_change,
    }
    return render(request, "inspections/reminders_people.html", context)


@member()
def person(request: HttpRequest) -> HttpResponse:
    """One address: its language and hours. One's own, or anybody's for who is in charge."""
    if "address" not in request.GET:
        return redirect("reminders_people", fleet=request.fleet.slug)
    one = reads.one(request.fleet, request.GET.get("address", ""))
    mine = one is not None and one.email == addressees.normal(request.user.email)
    if one is None or not (mine or request.role in WRITERS):
        raise Http404("No such person is written to.")
    form = PersonForm(request.POST or None, instance=one.row)
    if request.method == "POST" and "step" in request.POST:
        return stepped(request, one)
    if request.method == "POST" and form.is_valid():
        row, _ = Addressee.objects.get_or_create(fleet=request.fleet, email=one.email)
        PersonForm(request.POST, instance=row).save()
        messages.success(request, f"Saved for {one.name}.")
        return redirect("reminders_people", fleet=request.fleet.slug)
    return render(request, "inspections/reminders_person.html", {"person": one, "form": form})


def stepped(request: HttpRequest, one: reads.Person) -> HttpResponse:
    """Somebody says that an address works again, or that its owner wants mail again."""
    if request.POST["step"] == "works" and addressees.works_again(request.fleet, one.email):
        messages.success(request, f"{one.email} is written to again.")
    if request.POST["step"] == "again" and stopping.begin_again(request.fleet, one.email):
        messages.success(request, f"{one.name} is written to again.")
    return redirect("reminders_people", fleet=request.fleet.slug)


@member(MANAGER)
def words(request: HttpRequest) -> HttpResponse:
    """The fleet's own words; shown as they would read before they are kept."""
    fleet, today = request.fleet, request.fleet.today()
    asked = request.POST.get("language") or request.GET.get("language", "en")
    language = asked if asked in Language.values else "en"
    texts = wordings.in_force(fleet, language) | {"language": language}
    form = WordsForm(request.POST or None, initial=texts)
    good = request.method == "POST" and form.is_valid()
    if good and "keep" in request.POST:
        name = request.user.get_full_name() or request.user.get_username()
        changed = wordings.keep(fleet, language, form.cleaned_data, name, timezone.now())
        messages.success(request, "Kept." if changed else "Nothing was different.")
        return redirect("reminders_words", fleet=fleet.slug)
    own = form.cleaned_data if good else texts
    context = {
        "form": form,
        "language": language,
        "languages": Language.choices,
        "known": placeholders.KNOWN.items(),
        "letter": preview.with_words(fleet, today, language, own),
        "versions": wordings.versions(fleet)[:20],
    }
    return render(request, "inspections/reminders_words.html", context)
