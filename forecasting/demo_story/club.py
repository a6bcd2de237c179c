"""What the club's people put on record in the season of the demonstration."""

import datetime as dt

from fleet.templatetags.wording import day
from inspections.aftermath import stepping
from inspections.aftermath.advice import Closing, State, close, recommend
from inspections.models import Inspection
from inspections.recording import Look, Sight, make_good_done

from . import pictures
from .teller import RIGGER, Teller

OSKAR = "Oskar Eikemoen"


def tell(teller: Teller) -> None:
    spares(teller)
    events(teller)
    masts(teller)
    a_report(teller)
    from_a_phone(teller)
    hand_ins(teller)


def spares(teller: Teller) -> None:
    on = teller.day
    wire = teller.part("Nordavind", "Lower aft, port")
    teller.spare(wire, "Lysnevik", "Club shed, wall", on(4, 18), thread="M10 right",
                 invoice="club 26-07")  # fmt: skip
    screw = teller.part("Perlemor", "Cap shroud, port", "turnbuckle")
    teller.spare(screw, "Lysnevik", "Club shed, drawer 2", on(5, 2), thread="M10 left and right")


def events(teller: Teller) -> None:
    """A knock-down that a rigger has looked at since, and a collision that holds its boat."""
    on, boat = teller.day, "Tåkelur"
    stay = teller.part(boat, "Lower aft, starboard")
    before = teller.found(boat, on(2, 4), "tea_stain")
    where = "Lower aft, starboard, lower end"
    teller.photo_of(before, pictures.terminal(f"{where}, {day(on(2, 4))}", rust=0.2))
    teller.event("oskar", boat, "knock_down", on(8, 22),
                 "Spreaders in the water in a squall at the outer mark, up again by herself.",
                 "Nadia Lindqvarn")  # fmt: skip
    signed = dt.datetime.combine(on(8, 26), dt.time(16, 5), dt.UTC)
    look = Look(on(8, 26), Inspection.Level.ALOFT, "Femke Jutting", RIGGER,
                Inspection.Method.LOUPE, "After the knock-down: roots, tips and tangs bare.",
                signed_at=signed)  # fmt: skip
    teller.look("oskar", boat, look, Sight("tea_stain", "lower", stay.pk, cleaned=True))
    after = teller.found(boat, on(8, 26), "tea_stain")
    teller.photo_of(after, pictures.terminal(f"{where}, {day(on(8, 26))}", rust=0.25))
    teller.event("oskar", "Nordavind", "collision", on(10, 10),
                 "Shrouds of two boats locked at the leeward mark of the autumn regatta, starboard "
                 "side.", "Carys Stavridou")  # fmt: skip


def masts(teller: Teller) -> None:
    """Three stepped in spring; one was never re-tensioned."""
    on = teller.day
    for boat, stepped, rigger in (
        ("Sørpeis", on(4, 2), "Femke Jutting"),
        ("Kvitveis", on(4, 18), "Kaia Pallister"),
        ("Duskregn", on(4, 25), "Kaia Pallister"),
    ):
        up = teller.stepped(boat, stepped, rigger, "Cap shrouds hand-tight + 6, mast straight")
        stepping.sign_second(up, stepped, OSKAR)
        if boat != "Duskregn":
            stepping.retension(up, on(5, 14), OSKAR)


def a_report(teller: Teller) -> None:
    on, boat = teller.day, "Solbris"
    report = teller.report(boat, on(6, 30), "Quirin Marchetto", "rigger", (
        "Aloft on 29 June, mast up.", "",
        "1. Rust at the mouth of the starboard lower aft came away: look again in September.",
        "2. Masthead sheaves worn on one side: new ones when the mast is next down.",
        "3. Mark the tune on every turnbuckle before the mast comes down.",
    ))  # fmt: skip
    again = recommend(report, text="Look again at the starboard lower aft, lower end.",
                      installation=teller.part(boat, "Lower aft, starboard"), by_when=on(9, 15),
                      answers=OSKAR)  # fmt: skip
    check = Inspection.objects.get(boat=report.boat, on=on(9, 11))
    close(again, Closing(State.DONE, on(9, 12), OSKAR, "", inspection=check))
    recommend(report, text="New masthead sheaves when the mast is next down.",
              by_when=dt.date(report.on.year + 1, 3, 31), answers="Quirin Sandovera")  # fmt: skip
    recommend(report, text="Mark the tune on every turnbuckle before the mast comes down.",
              by_when=on(10, 1), answers="Quirin Sandovera")  # fmt: skip


def from_a_phone(teller: Teller) -> None:
    """A deck check in the club's autumn round: a ring of tape is missing, all else is well."""
    on = teller.day(10, 13)
    screw = teller.part("Myrull", "Cap shroud, port", "turnbuckle")
    found = {"sign": "tape_missing", "part": screw.pk, "place": "whole", "photos": []}
    teller.send("oskar", teller.kit("Myrull"), on, sights=[found], note="Autumn round")
    make_good_done(teller.found("Myrull", on, "tape_missing"), on, OSKAR)


def hand_ins(teller: Teller) -> None:
    on = teller.day
    teller.hand_in("oskar", "Sørpeis", on(10, 4), "Mast head light out, nothing else.", miles=True)
    note = "Backstay tensioner slips under load."
    teller.hand_in("oskar", "Havsus", on(10, 12), note)
