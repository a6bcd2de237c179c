"""From the knock to the second signature in real Chromium, on a phone and on a desk."""

from playwright.sync_api import expect

from fleet.models import Spare
from inspections import recording
from inspections.aftermath import advice, happenings, stepping
from tests import builders
from tests.inspections.docks import address, day, held, inspect, part, rigged_boat, saw
from tests.test_pages import too_small, too_wide

PHONE, DESK = 390, 1280
OF_FLEET = ("not_released", "recommendations", "spares", "consumables", "event")


def history(boat) -> dict[str, str]:
    """Put on record what happens to a boat in a bad year; return the pages that show it."""
    backstay = builders.wire(boat, stay="backstay", side="", batch="B7")
    builders.wire(builders.boat(boat.fleet, "Knot", design="Skerry"), batch="B7")
    Spare.objects.create(base=boat.base, construction="1x19", diameter_mm=8, length_mm=14000,
                         place="loft", stored_on=day(0))  # fmt: skip
    unproved = builders.wire(boat, stay="intermediate", batch="B8")
    builders.wire(boat.fleet.boats.get(name="Knot"), stay="intermediate", batch="B8")
    worn = recording.Sight("hanks_worn", "hanks", measure=4)
    broken = [saw(each, "broken_wire", measure=1) for each in (part(boat), unproved)]
    inspect(boat, day(0), *broken, worn)
    happenings.record_move(boat, on=day(1), origin="Hollow Quay", destination="Loft Yard",
                           skipper="Bo Sun", weather="calm")  # fmt: skip
    recording.record_renewal(unproved, fitted_on=day(1), fitter="")
    failure = happenings.record_failure(backstay, day(2), "upper", "parted", "Skipper")
    mast = stepping.step(boat, day(3), "A Rigger", [code for code, _ in stepping.CHECKS], "18 %")
    report = advice.attach(boat, builders.pdf_file(), on=day(4), author="C Surveyor",
                           competence="surveyor")  # fmt: skip
    row = advice.recommend(report, text="Renew the forestay", answers="Bo Sun", by_when=day(9))
    of_boat = ("yard_move", "mast_down", "stepped", "reports", "failure_record")
    pages = {name: address(boat, name, boat.pk) for name in of_boat}
    pages |= {name: address(boat, name) for name in OF_FLEET}
    return pages | {
        "failure": address(boat, "failure", failure.pk),
        "renew": address(boat, "renew", backstay.pk),
        "renewal to prove": address(boat, "renew", unproved.pk),
        "second_look": address(boat, "second_look", part(boat).pk),
        "stepping": address(boat, "stepping", mast.pk),
        "report": address(boat, "report", report.pk),
        "recommendation": address(boat, "recommendation", row.pk),
        "spare": address(boat, "spare", Spare.objects.get().pk),
    }


def test_every_page_after_a_find_fits_the_screen_and_the_thumb_and_shuts_nobody_out(
    live_server, page_at, transactional_db, accessibility_faults
):
    boat = rigged_boat()
    bosun = builders.person("bo", boat.fleet, "bosun")
    page = page_at(PHONE, user=bosun)
    faults = {}

    def looked_at(name: str, url: str) -> None:
        assert page.goto(url).status == 200
        for fold in page.locator("details.fold").all():
            fold.evaluate("each => { each.open = true; }")
        found = too_wide(page) + too_small(page) + accessibility_faults(page)
        faults.update({name: found} if found else {})

    for name in ("recommendations", "spares"):
        looked_at(f"{name}, nothing yet", address(boat, name))
    pages = history(boat)
    for name, url in pages.items():
        looked_at(name, url)
    page.set_viewport_size({"width": DESK, "height": 900})
    for name in ("failure", "report", "second_look"):
        looked_at(f"{name}, on a desk", pages[name])
    assert faults == {}


def test_lightning_is_on_record_in_five_taps_and_a_line(live_server, page_at, transactional_db):
    boat = rigged_boat()
    page = page_at(PHONE, user=builders.person("bo", boat.fleet, "bosun"))
    page.goto(address(boat, "boat", boat.pk))
    page.get_by_role("link", name="Something happened").click()
    page.get_by_label("What happened").select_option("lightning")
    page.get_by_label("In a line").fill("masthead aerials gone")
    page.get_by_label("Told by").fill("Skipper")
    page.get_by_role("button", name="Put it on record").click()
    page.get_by_text("is held until a rigger or surveyor").wait_for()
    expect(page.locator(".held").first).to_be_visible()
    assert held(boat) == ["event"]
