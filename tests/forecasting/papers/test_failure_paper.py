"""The cut sheet with its tag, and the list of the mast-down in the work order, read back."""

import pytest

from fleet.models import Boat, Spare, Stay
from forecasting.papers.failure_paper import contents, failure_paper
from forecasting.papers.work_order import AS_IF, work_order
from inspections.aftermath import happenings
from inspections.followups import Failure
from tests import builders
from tests.inspections.docks import day, part, rigged_boat

from .reading import dense, reader, text_of

pytestmark = pytest.mark.django_db


def failed(boat: Boat) -> Failure:
    row = happenings.record_failure(
        part(boat), day(3), "lower", "parted #strong[in] a gust", "Skipper"
    )
    return Failure.objects.select_related("installation__stay__boat__fleet").get(pk=row.pk)


def test_the_cut_sheet_has_what_to_order_the_store_the_parts_alike_and_the_tag():
    boat = rigged_boat()
    builders.wire(builders.boat(boat.fleet, "Knot"), batch="B7")
    gone = part(boat)
    gone.batch = "B7"
    gone.save()
    Spare.objects.create(base=boat.base, construction="1x19", diameter_mm=8, place="rack 2",
                         length_mm=14000, stored_on=day(0))  # fmt: skip
    content = failure_paper(failed(boat))
    text = dense(content)
    for words in ("Cut sheet: Cap shroud, port of Tern", "14,000", "measure before ordering",
                  "rack 2", "Knot", "same batch", "not yet", "Tag for the broken part",
                  "parted #strong[in] a gust", "Keep both ends, dry"):  # fmt: skip
        assert dense(words) in text
    assert reader(content).trailer["/Root"]["/MarkInfo"]["/Marked"], "tagged, for who cannot see"


def test_a_cut_sheet_without_store_or_sisters_says_so():
    paper = contents(failed(rigged_boat()))
    assert (paper["store"], paper["like"]) == ([], [])
    assert paper["answer"].startswith("It let go 4 Apr 2026.")


def test_the_list_of_the_mast_down_is_in_the_work_order_when_the_mast_comes_down():
    boat = rigged_boat()
    stay = builders.wire(boat, stay="forestay", side="")
    Stay.objects.filter(pk=stay.stay_id).update(in_foil=True)
    heading = "With the mast down"
    plain = text_of(work_order(boat))
    assert heading not in plain
    asked = text_of(work_order(boat, mast_out=True))
    assert heading in asked
    assert dense("Wire inside the furler foil") in dense(asked)
    assert dense(AS_IF) in dense(asked)
    boat.mast_down_off_season = True
    planned = text_of(work_order(boat))
    assert heading in planned
    assert dense(AS_IF) not in dense(planned)
