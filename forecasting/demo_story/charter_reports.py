"""What surveyors and riggers wrote about the charter group's boats, and what became of it."""

import datetime as dt

from inspections.aftermath.advice import Closing, State, close, recommend
from inspections.models import Inspection

from .teller import Teller

MAREN, OSKAR = "Maren Saltmarsh", "Oskar Eikemoen"


def tell(teller: Teller) -> None:
    of_insurer(teller)
    of_rigger(teller)


def of_insurer(teller: Teller) -> None:
    """Five recommendations: two done, one declined, one open, one overdue."""
    on, boat = teller.day, "Umber Tern"
    report = teller.report(boat, on(4, 14), "Pilar Zandstra-Varga", "surveyor", (
        "Seen from deck and from a chair, mast up, fair weather.", "",
        "1. Brown line at the deck below the port cap shroud: draw that chainplate this winter.",
        "2. Lower ends of all stays to be looked at again before the autumn charters.",
        "3. Inner forestay led out of line at its foot: fit a toggle.",
        "4. Renew all wire at ten years, whatever its condition.",
        "5. Bosun's chair and both halyards used aloft to be renewed.",
    ))  # fmt: skip
    plate = teller.part(boat, "Cap shroud, port", "chainplate")
    recommend(report, text="Draw the port chainplate: brown line at the deck below the cap shroud.",
              installation=plate, by_when=on(11, 30), answers=MAREN)  # fmt: skip
    looked = recommend(report, text="Look at all lower ends again before the autumn charters.",
                       by_when=on(10, 10), answers=OSKAR)  # fmt: skip
    check = Inspection.objects.get(boat=report.boat, on=on(10, 8))
    close(looked, Closing(State.DONE, on(10, 8), OSKAR, "", inspection=check))
    lead = recommend(report, text="Fit a toggle at the foot of the inner forestay: bad lead.",
                     installation=teller.part(boat, "Inner forestay"), by_when=on(5, 1),
                     answers=OSKAR)  # fmt: skip
    close(lead, Closing(State.DONE, on(4, 22), OSKAR, "Toggle fitted, invoice PC26-0442"))
    age = recommend(report, text="Renew all wire at ten years, whatever its condition.",
                    by_when=on(12, 31), answers=MAREN)  # fmt: skip
    why = "The fleet's own age rule stands in its rules; the insurer agreed by mail of 4 May."
    close(age, Closing(State.DECLINED, on(5, 5), MAREN, why))
    recommend(report, text="Renew the bosun's chair and both halyards used aloft.",
              by_when=on(9, 30), answers=OSKAR)  # fmt: skip


def of_rigger(teller: Teller) -> None:
    on, boat = teller.day, "Silver Shearwater"
    day: dt.date = on(10, 2)
    report = teller.report(boat, day, "Gaspard Rasmunder", "rigger", (
        "Mast out on 1 October, all terminals off their pins.", "",
        "1. Top swivel of the furler rough: new bearings before next season.",
        "2. Port spreader boot leaks: new boot, tip washed.",
    ))  # fmt: skip
    recommend(report, text="New bearings in the top swivel of the furler.",
              installation=teller.part(boat, "Forestay"), by_when=dt.date(day.year + 1, 3, 15),
              answers=OSKAR)  # fmt: skip
    boot = recommend(report, text="New boot on the port spreader tip.", by_when=on(10, 31),
                     answers=OSKAR)  # fmt: skip
    how = "Boot renewed and tip washed before stepping, photo in the yard's job sheet 118"
    close(boot, Closing(State.DONE, on(10, 5), "Gaspard Rasmunder", how))
