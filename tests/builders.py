"""Small fleets by hand, for tests of pages and of whose data is whose."""

import datetime as dt
import io
import uuid
from types import SimpleNamespace

from django.contrib.auth import get_user_model
from django.core.files.uploadedfile import SimpleUploadedFile
from django.utils import timezone
from PIL import Image

from fleet.models import (
    Base,
    Boat,
    Change,
    CruisingGround,
    Fleet,
    ImportRecord,
    Installation,
    Membership,
    Price,
    SeasonUse,
    SheetMatch,
    Spare,
    Stay,
    WorkRow,
)  # fmt: skip
from fleet.work import files
from forecasting.accounts import invoicing, versions
from forecasting.models import (
    BackTest,
    BoatOutlook,
    BudgetFigure,
    ForecastPractice,
    Invoice,
    ModelRun,
    PartOutlook,
    RefitJob,
    SummaryMail,
)
from forecasting.steps.basis import basis
from forecasting.survival import rule_of_thumb
from inspections.aftermath import report_files
from inspections.criteria import DEFAULT
from inspections.followups import (
    ConsumableOrder,
    Failure,
    Recommendation,
    Rejudgement,
    Report,
    Stepping,
    YardMove,
)
from inspections.models import (
    Booking,
    CalendarEntry,
    CalendarFeed,
    CriteriaVersion,
    Demand,
    DemandChange,
    DockUpload,
    Finding,
    HandIn,
    Hold,
    InspectBy,
    Inspection,
    PartVerdict,
    Photo,
    Reminder,
    ReminderRules,
    SetAside,
)
from inspections.photos import keeping
from inspections.reminding import evidence

from .cost_curves import cost_curves
from .past_forecasts import seen_curves, tested_past
from .season_plans import season_plan
from .work_orders import ordered
from .yard_limits import block_and_lead
from .yard_plans import yard_plan

TODAY = dt.date(2026, 10, 14)
NOON = dt.datetime(2026, 10, 14, 12, tzinfo=dt.UTC)
PDF = b"%PDF-1.4\n%%EOF\n"  # The least that passes for one.


def person(name: str, fleet: Fleet | None = None, role: str = "manager"):
    user = get_user_model().objects.create_user(name, email=f"{name}@example.org")
    if fleet is not None:
        Membership.objects.create(fleet=fleet, user=user, role=role)
    return user


def empty_fleet(slug: str, **rules) -> Fleet:
    """Return a fleet without boats whose first sending of reminders somebody has let go."""
    fleet = Fleet.objects.create(name=slug.capitalize(), slug=slug, as_of=TODAY, **rules)
    ReminderRules.objects.create(fleet=fleet, approved_at=timezone.now(), approved_by="Mona")
    return fleet


def base(fleet: Fleet, name: str = "Hollow Quay", corrosivity: str = "C4") -> Base:
    ground, _ = CruisingGround.objects.get_or_create(
        fleet=fleet, name="Inner Sound", defaults={"corrosivity": corrosivity}
    )
    return Base.objects.get_or_create(fleet=fleet, name=name, defaults={"ground": ground})[0]


def boat(fleet: Fleet, name: str = "Tern", **facts) -> Boat:
    usual = {
        "base": base(fleet),
        "length_m": 12,
        "build_year": 2014,
        "joined": dt.date(2014, 4, 1),
        "history_complete_since": dt.date(2014, 4, 1),
        "service": "private",
    }
    return Boat.objects.create(fleet=fleet, name=name, **(usual | facts))


def wire(boat: Boat, stay: str = "cap_shroud", side: str = "port", **facts) -> Installation:
    place, _ = Stay.objects.get_or_create(boat=boat, name=stay, side=side)
    usual = {
        "kind": "wire",
        "construction": "1x19",
        "diameter_mm": 8,
        "length_mm": 14000,
        "lower_terminal": "swaged",
        "upper_terminal": "t_ball",
        "fitted_on": dt.date(2014, 4, 1),
        "fitted_certainty": "day",
    }
    return Installation.objects.create(stay=place, **(usual | facts))


def one_of_each(slug: str) -> SimpleNamespace:
    """Return a fleet with at least one row in every table that belongs to a fleet."""
    fleet = empty_fleet(slug)
    own_boat = boat(fleet, f"{slug} one", owner_email=f"owner@{slug}.example.org")
    part = wire(own_boat)
    look = Inspection.objects.create(
        boat=own_boat, on=TODAY, level="aloft", person="A Rigger", competence="rigger"
    )
    PartVerdict.objects.create(
        inspection=look, installation=part, value="watch", spot="lower", reasons=["rust"],
        lower="good", run="good", upper="not_seen", again_by=dt.date(2026, 11, 11),
    )  # fmt: skip
    finding = Finding.objects.create(
        inspection=look, installation=part, place="lower", sign="rust_at_mouth", cleaned=True
    )
    hold = Hold.objects.create(
        boat=own_boat, installation=part, inspection=look, finding=finding,
        cause="make_good", reason="split pin missing", since=TODAY,
    )  # fmt: skip
    SeasonUse.objects.create(boat=own_boat, year=2026, ground=own_boat.base.ground, miles=900,
                             service="private")  # fmt: skip
    match = SheetMatch.objects.create(
        fleet=fleet, name=f"{slug} book", fingerprint="f" * 64, match={"tables": []}
    )
    Price.objects.create(fleet=fleet, item="rigger_hour", price_minor=6500)
    reminder = reminded(own_boat)
    HandIn.objects.create(boat=own_boat, on=TODAY, note=f"{slug}: a kink in the backstay")
    Change.objects.create(fleet=fleet, boat=own_boat, what=f"{slug}: invoice of the backstay")
    written = {"model": "fleet.Boat", "new": {str(own_boat.pk): "f" * 12}, "changed": {}}
    ImportRecord.objects.create(fleet=fleet, files=f"{slug}.xlsx", new=1, changed=0,
                                rows=[written])  # fmt: skip
    own_limit(fleet)
    outlooks(fleet, own_boat, part, look)
    work = WorkRow.objects.create(fleet=fleet, kind="refresh", asked_at=timezone.now(),
                                  state="done", outcome=f"Forecast of {slug}.")  # fmt: skip
    summary = SummaryMail.objects.create(
        fleet=fleet, user=person(f"{slug}-reader"), on=TODAY, number=1, to_name="A Reader",
        to_email=f"reader@{slug}.example.org", message_id=f"<summary.{slug}@example.org>",
    )  # fmt: skip
    upload, picture = sent_from_a_phone(own_boat), photo(finding)
    after = followed_up(fleet, own_boat, look) | asked_and_booked(fleet, own_boat)
    after |= planned_and_made(own_boat, part)
    return SimpleNamespace(
        **after, fleet=fleet, boat=own_boat, part=part, inspection=look, finding=finding, hold=hold,
        reminder=reminder, work=work, summary=summary, match=match,
        base=own_boat.base, upload=upload, photo=picture, ground=own_boat.base.ground,
        invoice=invoiced(part), version=versions.freeze(fleet, f"{slug} board", None, "Jo"),
    )  # fmt: skip


def planned_and_made(boat: Boat, part: Installation) -> dict:
    """Return what is planned for a boat and what was made of its fleet, a row of each by name."""
    return {
        "aside": set_aside(boat),
        "export": exported(boat.fleet),
        "season_plan": season_plan(boat, part),
        "yard_plan": yard_plan(boat),
    } | ordered(boat, part)


def set_aside(boat: Boat) -> SetAside:
    """Return a look aloft said to be done elsewhere, with its paper."""
    key, name = evidence.keep(boat.fleet_id, pdf_file())
    return SetAside.objects.create(
        boat=boat, kind="aloft", due_on=TODAY, how="elsewhere", state="offered", done_on=TODAY,
        until=TODAY + dt.timedelta(days=365), reason=f"{boat}: by the yard", evidence=key,
        evidence_name=name, by_name="Owner", at=timezone.now(),
    )  # fmt: skip


def reminded(boat: Boat) -> Reminder:
    return Reminder.objects.create(
        boat=boat, kind="aloft", due_on=TODAY, days_before=0, send_on=TODAY, to_name="Owner",
        to_email=boat.owner_email, reason="A year since the last look aloft.",
        key=f"{boat.fleet.slug}-1",
    )  # fmt: skip


def invoiced(part: Installation, number: str = "INV-1", net: int = 120_000, **facts) -> Invoice:
    """Return an invoice for one part alone; in minor units, a tax that comes back."""
    usual = {"on": dt.date(2016, 4, 20), "tax_minor": net // 5, "recovered_minor": net // 5}
    invoice = Invoice(boat=part.stay.boat, number=number, net_minor=net, **(usual | facts))
    return invoicing.record(invoice, [part])


def sent_from_a_phone(boat: Boat) -> DockUpload:
    """Return a draft that met another look, with its reason."""
    number = uuid.uuid4()
    payload = {
        "id": str(number), "boat": boat.pk, "record": "", "level": "deck", "on": str(TODAY),
        "person": "A Bosun", "competence": "crew", "method": "eye", "note": f"{boat}: windy",
        "signed_at": f"{TODAY}T10:00:00+00:00", "seen": [], "sights": [], "not_seen": [],
    }  # fmt: skip
    return DockUpload.objects.create(
        pk=number, boat=boat, received_at=timezone.now(), payload=payload, state="conflict",
        sentence=f"A Rigger inspected {boat} too.",
    )  # fmt: skip


def photo(finding: Finding, colour: str = "#8899aa") -> Photo:
    """Return a photo of that finding, with its files."""
    look, content = finding.inspection, io.BytesIO()
    Image.new("RGB", (64, 48), colour).save(content, "PNG")
    picture, _ = keeping.keep(look.boat.fleet, None, uuid.uuid4(), content.getvalue(), look.on)
    picture.finding, picture.inspection = finding, look
    picture.save()
    return picture


def followed_up(fleet: Fleet, boat: Boat, look: Inspection) -> dict:
    """Return a row of each thing that follows a find or an event, by name."""
    slug = fleet.slug
    gone = wire(boat, side="starboard", removed_on=TODAY, removal_reason="failed_in_service",
                removal_spot="lower")  # fmt: skip
    failure = Failure.objects.create(installation=gone, what=f"{slug}: it let go", person="Bo")
    Rejudgement.objects.create(inspection=look, installation=gone, value="replace", saw=slug)
    YardMove.objects.create(boat=boat, on=TODAY, origin=slug, destination="Yard", skipper="Bo",
                            weather="calm")  # fmt: skip
    stepping = Stepping.objects.create(boat=boat, on=TODAY, person=f"{slug} rigger")
    report = Report.objects.create(boat=boat, on=TODAY, author=f"{slug} surveyor", size=len(PDF),
                                   competence="surveyor", name="r.pdf",
                                   sha256="f" * 64)  # fmt: skip
    report_files.write(report, PDF)
    recommendation = Recommendation.objects.create(
        report=report, text=f"{slug}: renew the backstay", answers="Bo", by_when=TODAY
    )
    spare = Spare.objects.create(base=boat.base, construction="1x19", diameter_mm=8,
                                 place=f"{slug} loft", stored_on=TODAY)  # fmt: skip
    ConsumableOrder.objects.create(base=boat.base, item="hanks", pieces=9, on=TODAY)
    return {"failure": failure, "stepping": stepping, "report": report,
            "recommendation": recommendation, "spare": spare}  # fmt: skip


def asked_and_booked(fleet: Fleet, boat: Boat) -> dict:
    """Return a demand on the boat, a booking of it, and who subscribes to its calendar."""
    slug = fleet.slug
    demand = Demand.objects.create(
        fleet=fleet, asker="insurer", asker_name=f"{slug} mutual", clause=f"{slug}: a report",
        asked_on=TODAY, deadline=TODAY, wanted="report",
    )  # fmt: skip
    demand.boats.add(boat)
    DemandChange.objects.create(demand=demand, what=f"{slug}: deadline moved")
    booking = Booking.objects.create(boat=boat, first=TODAY, last=TODAY, reference=slug)
    CalendarFeed.objects.create(fleet=fleet, boat=boat, digest=f"{slug:f<64}", made_at=NOON)
    CalendarEntry.objects.create(boat=boat, kind="aloft", uid=slug, on=TODAY, reason=f"{slug}: due",
                                 changed_at=NOON)  # fmt: skip
    return {"demand": demand, "booking": booking} | block_and_lead(boat)


def pdf_file(content: bytes = PDF, name: str = "survey.pdf") -> SimpleUploadedFile:
    return SimpleUploadedFile(name, content)


def exported(fleet: Fleet) -> WorkRow:
    made = WorkRow.objects.create(
        fleet=fleet, kind="export", asked_at=timezone.now(), ended_at=timezone.now(), state="done",
        outcome=f"{fleet.name} as it was.", made=f"{fleet.slug}.xlsx",
        seen_at=f"/{fleet.slug}/work/",
    )  # fmt: skip
    files.path_of(made).write_bytes(b"a workbook")
    return made


def own_limit(fleet: Fleet) -> CriteriaVersion:
    since = dt.date(2020, 1, 1)
    own = DEFAULT.changed("notch", limit=0.05, since=since, reason=f"{fleet.slug} rule")
    return CriteriaVersion.objects.create(
        fleet=fleet, since=since, reason=own.reason, decided_by="A Manager", data=own.to_dict()
    )


def outlooks(fleet: Fleet, boat: Boat, part: Installation, look: Inspection) -> None:
    """Write what a refresh would, so that a page is tested without running one."""
    run = ModelRun.objects.create(
        fleet=fleet, kind="wire", as_of=TODAY, state="rule_of_thumb", in_force=True,
        sentence="Nothing condemned yet.", model=rule_of_thumb().to_dict(), fingerprint="f" * 64,
        code_version="v", left_out={"never_seen_since_entry": 2},
    )  # fmt: skip
    ForecastPractice.objects.create(
        fleet=fleet, kind="wire", since=TODAY, reason=f"{fleet.slug}: riggers' books",
        decided_by="Hanna", data={"b10": 9.0},
    )  # fmt: skip
    PartOutlook.objects.create(
        boat=boat, installation=part, run=run, as_of=TODAY, age=12.5,
        last_good={"lower": "2026-10-14"}, chance_now=0.03, chance_next=0.05, next_level="deck",
        next_on=dt.date(2027, 4, 14), chance_1y=0.08, chance_1y_low=0.05, chance_1y_high=0.12,
        chance_5y=0.4, chance_5y_low=0.3, chance_5y_high=0.5,
        later={"season": 0.09, "2y": 0.14, "3y": 0.22}, remaining=[1.5, 6.0, None], watched_for=3.0,
        found={"deck": 0.02, "aloft": 0.04, "mast_down": 0.07},
    )  # fmt: skip
    BoatOutlook.objects.create(
        boat=boat, as_of=TODAY, parts=1, chance_now=0.11, chance_now_low=0.07, chance_now_high=0.17,
        chance_1y=0.2, chance_5y=0.6, chance_failing=0.002, rests_on=look,
        after_level={"deck": 0.09, "aloft": 0.02, "mast_down": 0.0}, life=[0.9, 0.75, 1.1],
        chances=[["now", "2026-10-14", 0.11, 0.07, 0.17], ["1y", "2027-10-14", 0.2, 0.15, 0.3]],
        found=[["deck", "2027-04-14", 0.06, 0.04, 0.09]],
    )  # fmt: skip
    InspectBy.objects.create(boat=boat, date=dt.date(2027, 1, 20), level="aloft", as_of=TODAY,
                             reason="The chance reaches 1 in 7.", rests_on=look)  # fmt: skip
    RefitJob.objects.create(boat=boat, installation=part, season="2026/27", code="age",
                            reason="Past the age rule.", hours=3, cost_minor=61250,
                            put_off_minor=9000, chance=0.2)  # fmt: skip
    basis(fleet, TODAY).save()
    cost_curves(boat)
    BackTest.objects.create(fleet=fleet, kind="wire", as_of=TODAY, fingerprint="f" * 64,
                            result=tested_past(), seen=seen_curves())  # fmt: skip
    for scope in ({}, {"base": boat.base}, {"base": boat.base, "boat": boat}):
        BudgetFigure.objects.create(
            fleet=fleet, year=2027, mean_minor=61250, planned_minor=50000, p10_minor=0,
            p50_minor=60000, p90_minor=130000, renewals=1.2, **scope,
        )  # fmt: skip
