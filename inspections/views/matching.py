"""The step between a file in a layout of the fleet's own and the check of its rows."""

from django.contrib import messages
from django.core import signing
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from fleet.access import member
from fleet.matching import Match, questions
from fleet.sheets import RawSheet

from ..spreadsheets import match_form, matched_files, uploads
from ..spreadsheets.match_preview import preview
from ..spreadsheets.matched_files import LAYOUTS, Proposal
from .looks import WRITERS

SALT = "sheet-match"


@member(*WRITERS)
def import_match(request: HttpRequest) -> HttpResponse:
    """Propose how a file is read and show its first rows so; keep the match when it is used."""
    fleet, today = request.fleet, request.fleet.today()
    said = request.POST if request.method == "POST" else request.GET
    token = said.get("file", "")
    files = uploads.kept(fleet, request.user, token)
    raws = [] if files is None else matched_files.raws_of(matched_files.opened(files))
    if not any(raw.rows for raw in raws):
        messages.error(request, "There is no file here to match: hand it in first.")
        return redirect("import", fleet=fleet.slug)
    proposed = matched_files.proposal(fleet, raws)
    if request.method != "POST":
        return match_page(request, proposed, raws, token)
    match = match_form.answered(stated(request, proposed, raws), raws, said, today)
    if "use" not in said or questions(match, raws, LAYOUTS, today):
        return match_page(request, Proposal(match, proposed.kept), raws, token)
    name = said.get("name", "").strip() or ", ".join(file.name for file in files)
    kept = matched_files.keep(fleet, request.user, name, match, raws)
    address = reverse("import_check", kwargs={"fleet": fleet.slug})
    return redirect(f"{address}?file={token}&match={kept.pk}")


def stated(request: HttpRequest, proposed: Proposal, raws: list[RawSheet]) -> Match:
    """Return the match the answered form was made from, else the proposal."""
    try:
        kept = signing.loads(request.POST.get("state", ""), salt=salt(request))
    except signing.BadSignature:
        return proposed.match
    match = Match.from_dict(kept)
    fits = all(table.sheet < len(raws) for table in match.tables)
    return match if fits else proposed.match


def salt(request: HttpRequest) -> str:
    return f"{SALT}-{request.fleet.pk}"


def match_page(
    request: HttpRequest, proposed: Proposal, raws: list[RawSheet], token: str
) -> HttpResponse:
    match, today = proposed.match, request.fleet.today()
    asked = questions(match, raws, LAYOUTS, today)
    context = {
        "tables": match_form.forms(match, raws, asked),
        "asked": [(match_form.field_name(each.table, each.part), each) for each in asked],
        "used": "use" in request.POST,
        "kept": proposed.kept,
        "first_rows": preview(match, raws, today),
        "state": signing.dumps(match.to_dict(), salt=salt(request), compress=True),
        "token": token,
        "name": proposed.kept.name if proposed.kept else ", ".join(raw.name for raw in raws),
    }
    return render(request, "inspections/import_match.html", context)
