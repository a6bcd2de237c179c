"""Big workbooks through the import command, beside reading and writing the same rows bare."""

from pathlib import Path

from .children import Taken, manage, run, table

SEED_BOATS = 240  # Gives a workbook of 12,000 parts and a few hundred more.
MOST_SECONDS = 60
READ = """
import sys
from python_calamine import CalamineWorkbook
with CalamineWorkbook.from_path(sys.argv[1]) as book:
    print(sum(len(book.get_sheet_by_name(name).to_python()) for name in book.sheet_names))
"""
# The same rows of every table of the import, read from the filled database and put into an empty
# one with bulk_create: what storing them costs when nothing is checked or judged.
STORE = """
import os, sys, time
import django; django.setup()
from django.apps import apps
from django.conf import settings
from django.core.management import call_command
from django.db import connections
connections.databases["filled"] = {**connections.databases["default"], "NAME": sys.argv[1]}
call_command("migrate", verbosity=0)
names = "fleet.Fleet fleet.CruisingGround fleet.Base fleet.Boat fleet.Stay fleet.Installation "
names += "fleet.SeasonUse fleet.Price inspections.Inspection inspections.Finding "
names += "inspections.PartVerdict inspections.Hold"
start, number = time.monotonic(), 0
for model in map(apps.get_model, names.split()):
    rows = list(model._default_manager.using("filled").order_by("pk"))
    for row in rows:
        row._state.db = "default"
    model._default_manager.using("default").bulk_create(rows, batch_size=500)
    number += len(rows)
print(number)
"""


def twelve_thousand_parts(folder: Path) -> None:
    """Import 12,000 parts with their inspections; they must take no more than a minute."""
    rows = measured(folder, SEED_BOATS)
    table("Import of 12,000 parts with all their inspections, on a fresh database", rows)
    seconds = rows[0][1].seconds
    print(f"{'within' if seconds <= MOST_SECONDS else 'OVER'} {MOST_SECONDS} s: {seconds:.1f} s")


def thousand_boats(folder: Path) -> None:
    """Import the whole history of 1,000 boats, whatever it takes."""
    table("Import of 1,000 boats with all their history", measured(folder, 1000))


def measured(folder: Path, boats: int) -> list[tuple[str, Taken, str]]:
    workbook, filled = prepared(folder, boats)
    imported = manage(filled, "import_fleet", "thornquay", str(workbook), "--write")
    if "Written." not in imported.said:
        raise RuntimeError(imported.said)
    bare = folder / "bare"
    bare.mkdir()
    read = run(bare, READ, str(workbook))
    stored = run(bare, STORE, str(filled / "stayward.sqlite3"))
    counts = {line.split()[0]: int(line.split()[1]) for line in imported.said.splitlines()[1:9]}
    told = f"{counts['parts']:,} parts, {counts['inspections']:,} inspections"
    return [
        (f"import_fleet: {told}", imported, ""),
        (f"baseline: {int(read.said):,} rows read by calamine", read, ratio(imported, read)),
        (f"baseline: {int(stored.said):,} rows by bulk_create", stored, ratio(imported, stored)),
    ]


def prepared(folder: Path, boats: int) -> tuple[Path, Path]:
    """Return a workbook of so many boats, and a folder whose database has the empty fleet."""
    var = folder / f"var-{boats}"
    var.mkdir(exist_ok=True)
    manage(var, "make_demo_fleet", "--boats", str(boats), "--to", str(folder))
    manage(var, "migrate", "--verbosity", "0")
    manage(var, "new_fleet", "Thornquay", "mara@example.org")
    return folder / "thornquay.xlsx", var


def ratio(ours: Taken, bare: Taken) -> str:
    return f"import takes {ours.busy / bare.busy:.1f} times its cpu"
