"""What the pages say of watches: told, refused, or never asked; in words and with its bounds."""

import io

import pytest
from django.urls import reverse
from python_calamine import CalamineWorkbook

from fleet.templatetags.wording import percent
from forecasting import refresh, watched
from forecasting.ages_words import look_band
from forecasting.models import ConditionRun, LookCurve, LookInterval, PartOutlook, RefitJob
from forecasting.papers import part_words
from tests.forecasting.history import AS_OF
from tests.forecasting.test_pages import read, signed_in
from tests.forecasting.test_watches import watched_fleet

pytestmark = pytest.mark.django_db


def refreshed(**rules):
    fleet = watched_fleet(**rules).fleet
    refresh.run(fleet, AS_OF)
    return fleet


def test_a_fleet_with_too_few_watches_is_told_how_many_there_are_and_gets_no_interval():
    fleet = refreshed()
    text = read(signed_in(fleet), fleet, "how")
    assert "Not told by your own record yet." in text
    assert "8 of them looked at again or condemned since; 20 are needed" in text
    assert "an interval without that would be a guess" in text
    assert "costs least" not in text.partition("How often to look")[2].partition("Failing")[0]
    assert "20 are needed" in read(signed_in(fleet, "bosun"), fleet, "outlook")


def test_a_fleet_with_enough_is_told_by_when_and_between_what_bounds():
    fleet = refreshed(watches_needed=8)
    run = ConditionRun.objects.of(fleet).in_force().get()
    text, client = read(signed_in(fleet), fleet, "how"), signed_in(fleet, "bosun")
    drawn = {curve.base_id: look_band(curve.own) for curve in LookCurve.objects.of(fleet)}
    assert drawn
    assert all(f"every {band} costs least" in text for band in drawn.values()), "as where drawn"
    for page in (text, read(client, fleet, "outlook")):
        assert watched.sentence(run) in page
    assert "8 spots were judged watch" in text
    assert "Looking from deck every" in text
    assert "Inspecting aloft every" in text
    assert "never look less often" in text


def test_failing_in_service_is_shown_with_its_source_and_the_published_rate():
    """0.54 % of about 350 inspected sail vessels a year: US Coast Guard inspector training."""
    fleet = refreshed()
    text = read(signed_in(fleet), fleet, "how")
    assert "Failing in service" in text
    assert "US Coast Guard inspector training, July 2014" in text
    assert "0 breakages on record" in text


def test_a_boat_with_a_watched_spot_says_which_and_since_when():
    fleet = refreshed(watches_needed=8)
    run = ConditionRun.objects.of(fleet).in_force().get()
    still_up, condemned = fleet.boats.get(name="Boat 0"), fleet.boats.get(name="Boat 1")
    text = read(signed_in(fleet), fleet, "boat", still_up.pk)
    assert "lower end watched since" in text
    assert "1 Sep 2024" in text
    assert watched.sentence(run) in text
    assert "watched since" not in read(signed_in(fleet, "bosun"), fleet, "boat", condemned.pk)


def test_the_fewest_watches_are_a_rule_a_manager_can_change():
    fleet = refreshed()
    assert "before they are learned from" in read(signed_in(fleet), fleet, "fleet_settings")


@pytest.mark.parametrize(
    ("quarter", "words"),
    [
        ([4.6, 5.2, 6.4], "within 5 months (5 to 6 months)"),
        ([0.4, 0.6, 1.2], "within 1 month (1 month)"),
        ([20.0, 30.0, None], "within 30 months (20 months or more)"),
        ([None, None, None], "Fewer than one watched spot in four"),
    ],
)
def test_the_sentence_says_what_it_knows_and_no_more(quarter: list, words: str):
    assert words in watched.sentence(ConditionRun(result={"quarter": quarter}))


@pytest.mark.parametrize(
    ("low", "high", "bounded", "words"),
    [
        (14.2, 21.8, True, "Inspecting aloft every 14 to 22 months costs least"),
        (14.2, 14.4, True, "Inspecting aloft every 14 months costs least"),
        (41.0, 120.0, False, "Inspecting aloft every 41 months or more costs least"),
    ],
)
def test_an_interval_is_a_band_in_whole_months(low, high, bounded, words):
    row = LookInterval(
        level="aloft", flat_from=low, flat_until=high, low=3, high=5, bounded=bounded
    )
    assert watched.look_words(row) == words
    assert watched.sure_words(row) == ("3 to 5 months" if bounded else "")


def test_refit_list_page_and_paper_say_one_chance_of_a_watched_wire():
    """Renewed by the rule at 13 years; the paper is read back by another library."""
    fleet = refreshed(watches_needed=8, age_rule_years=13)
    client, seen = signed_in(fleet), {}
    listed = RefitJob.objects.of(fleet).exclude(installation=None)
    jobs = {job.installation_id: job for job in listed}
    parts = PartOutlook.objects.of(fleet).filter(installation__in=jobs, condemned=False)
    for part in parts.select_related("installation__stay__boat"):
        assert jobs[part.installation_id].chance == part.later["season"]
        place = part.installation.stay
        seen[place.boat.name, part_words.name(part.installation)] = (part.later["season"], part)
    book = CalamineWorkbook.from_filelike(io.BytesIO(client.get(page_of(fleet)).content))
    header, *rows = sheet_rows(book)
    printed = {(row[1], row[3]): row[-1] for row in rows if (row[1], row[3]) in seen}
    assert len(printed) == len(seen) > 4
    assert header[-1] == "chance condemned by the season's end"
    for place, (chance, _) in seen.items():
        assert printed[place] == pytest.approx(chance, abs=5e-5)
    chance, part = max(seen.values(), key=lambda each: each[0])
    assert part.watched
    boat = part.installation.stay.boat
    assert percent(chance) in read(client, fleet, "boat", boat.pk)


def page_of(fleet) -> str:
    return reverse("refit_xlsx", kwargs={"fleet": fleet.slug})


def sheet_rows(book: CalamineWorkbook) -> list[list]:
    """The header and the jobs, without what stands above and the sum below."""
    rows = [row for name in book.sheet_names for row in book.get_sheet_by_name(name).to_python()]
    first = next(i for i, row in enumerate(rows) if "reason" in row)
    return rows[first:]
