"""What the charter group's people put on record in the season of the demonstration."""

import datetime as dt

from fleet.models import Installation
from fleet.templatetags.wording import day as said
from inspections.aftermath import consumables, happenings, stepping, store
from inspections.aftermath.second_look import Second, judge_again
from inspections.corrections import correct
from inspections.followups import Failure, Rejudgement
from inspections.models import Inspection
from inspections.recording import Look, Sight, make_good_done

from . import charter_reports, pictures
from .teller import RIGGER, Teller

ALOFT, DECK = Inspection.Level.ALOFT, Inspection.Level.DECK
LOUPE, PENETRANT = Inspection.Method.LOUPE, Inspection.Method.PENETRANT
OSKAR = "Oskar Eikemoen"


def tell(teller: Teller) -> None:
    spares(teller)
    events(teller)
    held_boats(teller)
    a_failure(teller)
    masts(teller)
    charter_reports.tell(teller)
    from_phones(teller)
    hand_ins(teller)
    photos(teller)


def events(teller: Teller) -> None:
    """One that riggers have looked at since, and one that still holds its boat."""
    on = teller.day
    teller.event("oskar", "Velvet Curlew", "collision", on(9, 4),
                 "Hit at the pontoon by a boat leaving: port cap shroud caught on its anchor, let "
                 "go after a few seconds.", "Yara Fenwright, skipper")  # fmt: skip
    teller.look("oskar", "Velvet Curlew", Look(
        on(9, 7), ALOFT, "Oskar Yildar", RIGGER, LOUPE,
        "After the collision: rigged to both halyards, port side twice, tangs and spreader roots "
        "bare.", signed_at=at(on(9, 7))))  # fmt: skip
    teller.event("oskar", "Teal Dorado", "hard_grounding", on(10, 11),
                 "Touched the bar off Quill Cay at six knots and stopped dead; the mast was seen "
                 "to pump. Came in under engine.", "Tarik Wetherlam, skipper")  # fmt: skip


def at(day: dt.date) -> dt.datetime:
    return dt.datetime.combine(day, dt.time(15, 40), dt.UTC)


def held_boats(teller: Teller) -> None:
    """A boat moved to its yard, and a condemned wire judged by a second person: it stands."""
    happenings.record_move(
        teller.boat("Lantern Fulmar"), teller.people["oskar"],
        on=teller.day(10, 2), origin="Port Carrow", destination="Hollow Creek yard",
        skipper="Leif Dalsgarth", weather="South-west 2 to 3, sea smooth, forecast and as it was",
    )  # fmt: skip
    part = teller.part("Nimble Redshank", "Cap shroud, port")
    seen = ("Mouth of the swage polished and cleaned: rust comes from between the wires again "
            "within the hour. Penetrant shows a line of 6 mm along the barrel.")  # fmt: skip
    look = Look(
        teller.day(10, 13), DECK, "Maren Ulvang", RIGGER, PENETRANT, seen,
        signed_at=at(teller.day(10, 13)),
    )  # fmt: skip
    second = Second(Rejudgement.Value.REPLACE, seen)
    judge_again(part, look, second, teller.people["oskar"])


def a_failure(teller: Teller) -> None:
    """The one part that let go in the last years: removed in the workbook, told here."""
    parts = Installation.objects.of(teller.fleet).filter(stay__boat__name="Ember Vesper")
    part = parts.get(removal_reason=Installation.Removal.FAILED)
    Failure.objects.create(
        installation=part,
        what="Close reaching in 22 knots off Velun Head the shroud parted at the upper swage. "
        "Tacked at once, halyard to the rail as a stand-in, home under engine.",
        person="Odile Tolleson, skipper",
        by=teller.people["oskar"],
    )


def spares(teller: Teller) -> None:
    """What lies at the bases; one part was taken out for a boat that came in at night."""
    on, part = teller.day, teller.part
    lower = part("Ember Vesper", "Lower aft, port")
    teller.spare(lower, "Marina Velun", "Rigging loft, rack 2", on(3, 2),
                 lower_terminal="mechanical", thread="M16 right", mast_end="eye, 16 mm pin",
                 batch="MV08-26A", invoice="MV26-0311")  # fmt: skip
    cap = part("Ashen Cirrus", "Cap shroud, port")
    teller.spare(cap, "Marina Velun", "Rigging loft, rack 1", on(4, 20), thread="M14 right",
                 length_mm=cap.length_mm + 900, lower_terminal="", batch="MV07-26C",
                 invoice="MV26-0702")  # fmt: skip
    stay = part("Lantern Fulmar", "Forestay")
    teller.spare(stay, "Port Carrow", "Container, long shelf", on(2, 11), thread="M14 right",
                 mast_end="eye, 14 mm pin", invoice="PC26-0118")  # fmt: skip
    screw = part("Lantern Nova", "Cap shroud, port", "turnbuckle")
    teller.spare(screw, "Marina Velun", "Rigging loft, drawer 4", on(5, 6),
                 thread="M14 left and right", invoice="MV26-0815")  # fmt: skip
    screw = part("Lucky Remora", "Lower aft, port", "turnbuckle")
    teller.spare(screw, "Port Carrow", "Container, box C", on(1, 19), thread="M16 left and right")
    screw = part("Cedar Cowrie", "Cap shroud, port", "turnbuckle")
    spent = teller.spare(screw, "Quill Cay", "Workshop, drawer 1", on(1, 26),
                         thread="M20 left and right")  # fmt: skip
    store.take(spent, on(7, 18), "Dario Nesvold", "Stand-in for Cedar Cowrie while hers was made")


def masts(teller: Teller) -> None:
    """Three stepped: all signed; one not yet sailed hard; one without its second signature."""
    on = teller.day
    done = teller.stepped(
        "Slate Abalone",
        on(7, 8),
        "Dario Nesvold",
        "Cap shrouds 22 % of breaking load by gauge, lowers hand-tight + 4",
    )
    stepping.sign_second(done, on(7, 9), OSKAR)
    stepping.retension(done, on(7, 19), "Emre Vereecke")
    slack = teller.stepped(
        "Silver Shearwater",
        on(10, 6),
        "Gaspard Rasmunder",
        "Cap shrouds 20 %, intermediates hand-tight + 2, mast straight",
    )
    stepping.sign_second(slack, on(10, 7), OSKAR)
    teller.stepped("Keen Corona", on(10, 12), "Sanne Garbutter", "Cap shrouds 20 % by gauge")


def hand_ins(teller: Teller) -> None:
    """Notes of skippers; one was answered by a look at the boat since."""
    on = teller.day
    told = (
        ("Bright Stratus", on(10, 7), "Creaking from the port chainplate when beating.", False),
        ("Jade Nautilus", on(10, 10), "Genoa halyard hard to hoist for the last metre.", False),
        ("Cedar Cowrie", on(10, 13), "Furler stiff, halyard seen to turn with it.", True),
        ("Ashen Pompano", on(10, 13), "", True),
    )
    for boat, day, note, miles in told:
        teller.hand_in("oskar", boat, day, note, miles)
    base = teller.fleet.bases.get(name="Port Carrow")
    consumables.order(base, "split_pins", teller.fleet.as_of, teller.people["oskar"])


def from_phones(teller: Teller) -> None:
    """A deck check with a pin made good at once, corrected the same day; and a conflict."""
    corrected(teller)
    kept = teller.kit("Pale Arc")
    on, rafe = teller.day(10, 13), teller.day(10, 12)
    stay = teller.part("Pale Arc", "Backstay")
    seen = Sight("tea_stain", "lower", stay.pk, cleaned=True)
    look = Look(rafe, DECK, "Rafe Halvard", "crew", note="After the week's charter.")
    teller.look("maren", "Pale Arc", look, seen)
    caption = f"Backstay, lower end, {said(on)}"
    photo = teller.photo(pictures.terminal(caption, rust=0.35), on, "Pale Arc")
    found = {"sign": "rust_at_mouth", "part": stay.pk, "place": "lower", "cleaned": True,
             "photos": [str(photo)]}  # fmt: skip
    teller.send("oskar", kept, on, sights=[found], note="Written without signal at the outer berth")


def corrected(teller: Teller) -> None:
    on, oskar = teller.day(10, 14), teller.people["oskar"]
    part = teller.part("Quiet Corona", "Lower aft, starboard")
    caption = f"Lower aft, starboard, lower end, {said(on)}"
    photo = teller.photo(pictures.pin(caption, missing=True), on, "Quiet Corona")
    found = {"sign": "split_pin_missing", "part": part.pk, "place": "lower",
             "photos": [str(photo)]}  # fmt: skip
    teller.send("oskar", teller.kit("Quiet Corona"), on, sights=[found])
    finding = teller.found("Quiet Corona", on, "split_pin_missing")
    make_good_done(finding, on, OSKAR)
    look = finding.inspection
    note = "New split pin from the store, legs opened and taped; the old one lay on the deck."
    facts = Look(on, DECK, OSKAR, look.competence, note=note, signed_at=look.signed_at)
    same = Sight("split_pin_missing", "lower", part.pk)
    correct(look, facts, [same], oskar, "It left out what became of the pin", at(on))


def photos(teller: Teller) -> None:
    """Pictures of what the workbook has: places that got worse, each twice, and two cracks."""
    on, found = teller.day, teller.found
    rust, terminal = "rust_at_mouth", pictures.terminal
    port = "Cap shroud, port, lower end"
    for boat, label, where, day, heavy in (
        ("Ashen Cirrus", "Cap shroud, port", port, on(8, 12), 0.25),
        ("Ashen Cirrus", "Cap shroud, port", port, on(9, 20), 0.85),
        ("Lantern Fulmar", "Forestay", "Forestay, lower end", dt.date(2025, 12, 17), 0.15),
        ("Lantern Fulmar", "Forestay", "Forestay, lower end", on(9, 29), 0.7),
        ("Nimble Redshank", "Cap shroud, port", port, on(10, 11), 1.0),
    ):
        picture = terminal(f"{where}, {said(day)}", rust=heavy)
        teller.photo_of(found(boat, day, rust, label), picture)
    for day, dark in ((dt.date(2025, 12, 8), 0.45), (on(10, 9), 0.95)):
        picture = pictures.wire(f"Backstay, wire, {said(day)}", dark=dark)
        teller.photo_of(found("Indigo Arc", day, "dark_wire"), picture)
    day = on(10, 9)
    caption = f"Intermediate, starboard, lower end, {said(day)}"
    picture = terminal(caption, rust=0.2, crack=True)
    teller.photo_of(found("Indigo Arc", day, "barrel_crack_along"), picture)
