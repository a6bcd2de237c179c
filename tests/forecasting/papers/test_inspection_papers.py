"""The report of one inspection, and the sheet that is taken along to write on."""

import datetime as dt

import pytest
from django.urls import reverse

from fleet.models import Boat
from forecasting.papers.blank_sheet import contents as sheet
from forecasting.papers.inspection_report import contents as report
from forecasting.papers.inspection_report import inspection_report
from inspections import recording
from inspections.models import Inspection
from inspections.photos.files import SMALL, path_of
from inspections.recording import Look, Sight
from tests import builders
from tests.builders import TODAY

from .reading import dense, reader, text_of

NO_SURVEY = "A visual check in place by a lay person, not a survey."


@pytest.fixture
def looked(rig) -> Inspection:
    """A crew's deck check: the cap shroud's lower end cracked, the backstay's not reached."""
    builders.person("dockhand", rig.boat.fleet, "bosun")
    wire = rig.boat.stays.get(name="cap_shroud", side="port").installations.get(kind="wire")
    sights = [
        Sight(sign="barrel_crack_along", installation_id=wire.pk, place="lower", note="2 cm long"),
        Sight(sign="not_seen", installation_id=rig.unknown.pk, place="lower", note="sail on it"),
    ]
    look = Look(on=TODAY, level="deck", person="Ann Ayre", competence="crew", method="eye", note="")
    return fresh(recording.record(rig.boat.fleet, rig.boat, look, sights, None))


def fresh(look: Inspection) -> Inspection:
    looks = Inspection.objects.select_related("boat__fleet", "boat__base", "criteria")
    return looks.get(pk=look.pk)


def test_the_report_says_who_saw_what_and_what_it_means(looked):
    paper = report(looked)
    assert [found["where"] for found in paper["found"]] == ["Cap shroud, port, lower end"]
    assert paper["found"][0]["detail"] == "2 cm long"
    assert paper["found"][0]["source"]
    assert paper["parts"][0]["name"] == "Cap shroud, port"
    assert paper["parts"][0]["verdict"]["code"] == "replace"
    assert paper["parts"][0]["spots"][0] == "condemned: lower end"
    assert any("Cap shroud, port" in hold["reason"] for hold in paper["holds"])


def test_a_spot_not_seen_is_named_with_its_reason(looked):
    assert any("sail on it" in place["words"] for place in report(looked)["places"])


def test_the_drawing_is_of_this_look_and_told_in_words(looked):
    paper = report(looked)
    assert 'class="line replace"' in paper["drawing"]
    assert "Cap shroud, port: replace" in paper["drawn"]


def test_the_printed_report_carries_name_day_verdict_and_cautions(looked):
    content = inspection_report(looked)
    printed = dense(content)
    for words in ("Ann Ayre, crew, eye", "14 Oct 2026", NO_SURVEY, "A part judged replace is not"):
        assert dense(words) in printed
    assert reader(content).metadata.title == f"Rig inspection report: {looked.boat.name}"


def test_photos_are_printed_beside_the_last_of_the_place(looked):
    builders.photo(looked.findings.get(sign="barrel_crack_along"))
    before = Inspection.objects.create(boat=looked.boat, on=dt.date(2025, 5, 1), level="deck",
                                       person="B", competence="rigger")  # fmt: skip
    wire = looked.findings.get(sign="barrel_crack_along").installation
    earlier = before.findings.create(installation=wire, place="lower", sign="tea_stain")
    gone = builders.photo(earlier, "#445566")
    path_of(gone.fleet_id, gone.pk, SMALL).unlink()
    [row] = report(looked)["photos"]
    assert row["where"] == "Cap shroud, port, lower end"
    assert "data:image/jpeg;base64," in row["now"][0]["svg"]
    assert (row["before_on"], row["before"][0]["svg"]) == ("1 May 2025", "")
    content = inspection_report(looked)
    assert dense("its file is not here") in dense(content)
    assert sum(len(page.images) for page in reader(content).pages) == 1


def test_a_rigger_s_report_is_not_called_a_lay_person_s(looked):
    Inspection.objects.filter(pk=looked.pk).update(competence="rigger")
    assert NO_SURVEY not in text_of(inspection_report(fresh(looked)))


def test_a_look_that_found_nothing_says_so_and_names_its_limits(rig):
    look = Look(on=TODAY, level="deck", person="Bo", competence="rigger", method="eye", note="")
    done = fresh(recording.record(rig.boat.fleet, rig.boat, look, [], None))
    printed = dense(inspection_report(done))
    assert dense("No sign was found on what was seen.") in printed
    assert dense("The fleet's limits since 1 Jan 2020") in printed


def test_the_sheet_goes_round_from_the_bow_and_asks_only_what_the_level_sees(rig):
    builders.wire(rig.boat, "forestay", "", fitted_on=dt.date(2021, 1, 1))
    boat = Boat.objects.select_related("fleet", "base__ground").get(pk=rig.boat.pk)
    deck = sheet(boat, "deck")
    assert deck["rows"][0]["name"] == "Forestay"
    assert all(row["spots"] in (["lower end"], ["whole"]) for row in deck["rows"])
    aloft = sheet(boat, "aloft")
    assert ["lower end", "wire", "upper end"] in [row["spots"] for row in aloft["rows"]]
    assert len(deck["signs"]) < len(aloft["signs"])


@pytest.mark.parametrize("level", ["deck", "aloft", "mast_down", "nonsense"])
def test_the_sheet_prints_for_every_level(client, rig, level):
    address = reverse("blank_sheet", kwargs={"fleet": rig.boat.fleet.slug, "pk": rig.boat.pk})
    response = client.get(address, {"level": level})
    assert response["Content-Type"] == "application/pdf"
    assert dense("Tick only what was seen.") in dense(response.content)
