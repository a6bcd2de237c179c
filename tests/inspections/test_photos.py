"""Photos: kept once, for members of one fleet, shown beside the last of the place."""

import datetime as dt
import threading
import uuid

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.utils import timezone

from inspections.models import Finding, Photo
from inspections.photos import files, keeping
from tests import builders
from tests.inspections.docks import address, day, inspect, part, read, saw, signed_in
from tests.inspections.drafts import draft, send, sight
from tests.inspections.test_redraw import picture


@pytest.fixture
def bosun(boat) -> Client:
    return signed_in(boat)


def hand_in(client: Client, boat, content: bytes, photo_id=None, name="IMG_1.jpg", **said):
    number = photo_id or uuid.uuid4()
    upload = SimpleUploadedFile(name, content, "image/jpeg")
    return client.post(address(boat, "dock_photos"), {"id": str(number), "file": upload} | said)


def named(client: Client, boat) -> str:
    response = hand_in(client, boat, picture())
    assert response.status_code == 201
    return response.json()["id"]


@pytest.mark.django_db
def test_the_same_photo_sent_again_is_the_same_photo(boat, bosun):
    number = uuid.uuid4()
    first = hand_in(bosun, boat, picture(), number, taken_on="2026-10-12")
    again = hand_in(bosun, boat, picture("PNG"), number)
    assert (first.status_code, again.status_code) == (201, 200)
    assert first.json() == again.json()
    row = Photo.objects.get()
    assert (row.pk, row.taken_on, row.width) == (number, dt.date(2026, 10, 12), 80)
    content = files.path_of(boat.fleet_id, number).read_bytes()
    assert len(content) == row.bytes


@pytest.mark.django_db
def test_a_photo_is_shown_to_members_of_its_fleet_and_to_nobody_else(boat, bosun):
    number = named(bosun, boat)
    for name in ("photo", "photo_small"):
        shown = bosun.get(address(boat, name, number))
        assert shown["Content-Type"] == "image/jpeg"
        assert shown["Cache-Control"].startswith("private")
        assert shown["X-Content-Type-Options"] == "nosniff"
        assert b"".join(shown.streaming_content).startswith(b"\xff\xd8")
        other = builders.boat(builders.empty_fleet(f"estuary-{name}"))
        stranger = signed_in(other)
        assert stranger.get(address(boat, name, number)).status_code == 404
        assert stranger.get(address(other, name, number)).status_code == 404
    assert Client().get(address(boat, "photo", number)).status_code == 302


@pytest.mark.django_db
def test_who_is_no_member_any_more_is_shown_nothing_by_any_kind_of_request(boat, bosun):
    number = named(bosun, boat)
    url = address(boat, "photo_small", number)
    first = bosun.get(url)
    kept = {"If-None-Match": first["ETag"]}
    content = b"".join(first.streaming_content)
    part_of_it = {"Range": "bytes=0-3"}
    assert first["Cache-Control"] == "private, no-cache"  # Kept, it is asked for all the same.
    assert bosun.get(url, headers=kept).status_code == 304
    head = bosun.head(url)
    assert (head.status_code, b"".join(head.streaming_content)) == (200, b"")
    assert b"".join(bosun.get(url, headers=part_of_it).streaming_content) == content
    boat.fleet.memberships.all().delete()
    for headers in ({}, kept, part_of_it, {"If-Range": first["ETag"], **part_of_it}):
        assert bosun.get(url, headers=headers).status_code == 404
        assert bosun.head(url, headers=headers).status_code == 404
    assert hand_in(bosun, boat, picture()).status_code == 404
    for method in ("post", "put", "delete", "options"):
        assert getattr(bosun, method)(url).status_code in (404, 405)
    assert files.path_of(boat.fleet_id, number, files.SMALL).is_file()


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({"id": "one", "file": b"x"}, "It carries no number of its own"),
        ({"id": str(uuid.UUID(int=1))}, "No photo came along"),
        ({"id": str(uuid.UUID(int=1)), "file": b"nothing to see"}, "This is no photo"),
    ],
)
def test_a_photo_that_cannot_be_kept_is_refused_in_words(boat, bosun, said, words):
    if "file" in said:
        said = said | {"file": SimpleUploadedFile("a.jpg", said["file"], "image/jpeg")}
    response = bosun.post(address(boat, "dock_photos"), said)
    assert response.status_code == 422
    assert response.json()["faults"][0]["sentence"].startswith(words)
    assert not Photo.objects.exists()


@pytest.mark.django_db
def test_another_fleets_number_is_not_taken_over(boat, bosun):
    number = named(bosun, boat)
    other = builders.boat(builders.empty_fleet("estuary"))
    response = hand_in(signed_in(other), other, picture(), number)
    assert response.status_code == 422
    assert Photo.objects.get().fleet_id == boat.fleet_id


@pytest.mark.django_db
def test_a_photo_stands_by_its_finding_beside_the_last_one_of_the_same_spot(boat, bosun):
    wire = part(boat)
    look = inspect(boat, day(0), saw(wire, "rust_at_mouth", cleaned=True))
    before = builders.photo(Finding.objects.get(inspection=look))
    number = named(bosun, boat)
    found = sight(wire, "barrel_bent", photos=[number])
    response = send(bosun, boat, draft(boat, sights=[found]))
    assert response.status_code == 201
    photo = Photo.objects.get(pk=number)
    assert photo.finding.sign == "barrel_bent"
    page = read(bosun, response.json()["url"])
    for shown in (number, before.pk):
        assert address(boat, "photo_small", shown) in page
    assert "Last time, 1 Apr 2026" in page
    assert f'href="#photo-{number}"' in page


@pytest.mark.django_db
def test_a_look_whose_photo_has_not_arrived_is_not_recorded_without_it(boat, bosun):
    missing = str(uuid.uuid4())
    body = draft(boat, sights=[sight(part(boat), "barrel_bent", photos=[missing])])
    refused = send(bosun, boat, body)
    assert refused.status_code == 422
    assert refused.json()["faults"] == [
        {"where": "sights.0.photos", "sentence": f"Photo {missing} has not arrived: send it first."}
    ]
    hand_in(bosun, boat, picture(), missing)
    assert send(bosun, boat, body).status_code == 201


@pytest.mark.django_db
def test_one_photo_belongs_to_one_finding_of_one_look(boat, bosun):
    number, wire = named(bosun, boat), part(boat)
    twice = [sight(wire, sign, photos=[number]) for sign in ("barrel_bent", "rust_at_mouth")]
    refused = send(bosun, boat, draft(boat, sights=twice))
    assert "One photo is given to two findings" in refused.json()["faults"][0]["sentence"]
    assert send(bosun, boat, draft(boat, sights=twice[:1])).status_code == 201
    other = draft(boat, person="Somebody", sights=twice[:1])
    assert "has not arrived" in send(bosun, boat, other).json()["faults"][0]["sentence"]


@pytest.mark.django_db
def test_a_photo_nobody_claimed_goes_after_thirty_days_and_no_other(boat, bosun):
    kept, lost = named(bosun, boat), named(bosun, boat)
    send(bosun, boat, draft(boat, sights=[sight(part(boat), "barrel_bent", photos=[kept])]))
    cut_off = files.path_of(boat.fleet_id, uuid.uuid4(), ".jpg.x.part")
    cut_off.write_bytes(b"half")
    now = timezone.now()
    keeping.prune(now + dt.timedelta(days=1))
    assert cut_off.exists()
    keeping.prune(now + dt.timedelta(days=29))
    assert not cut_off.exists()
    assert Photo.objects.count() == 2
    keeping.prune(now + dt.timedelta(days=31))
    assert [str(each.pk) for each in Photo.objects.all()] == [kept]
    assert files.path_of(boat.fleet_id, kept).is_file()
    assert not files.path_of(boat.fleet_id, lost, files.SMALL).exists()


@pytest.mark.django_db
def test_the_photos_of_a_draft_with_faults_wait_for_it_and_no_others_are_taken(boat, bosun):
    number, wire = named(bosun, boat), part(boat)
    look = inspect(boat, day(0), saw(wire, "rust_at_mouth", cleaned=True))
    taken = builders.photo(Finding.objects.get(inspection=look))
    found = [sight(wire, "tang_crack", photos=[number, str(taken.pk)])]
    body = draft(boat, sights=found)
    assert send(bosun, boat, body).status_code == 422
    keeping.prune(timezone.now() + dt.timedelta(days=60))
    assert Photo.objects.get(pk=number).upload_id == uuid.UUID(body["id"])
    taken.refresh_from_db()
    assert (taken.upload_id, taken.inspection_id) == (None, look.pk)
    mended = body | {"sights": [sight(wire, "barrel_bent", photos=[number])]}
    assert send(bosun, boat, mended).status_code == 201
    assert Photo.objects.get(pk=number).finding.sign == "barrel_bent"


@pytest.mark.django_db
def test_pruning_by_the_clock_is_done_once_a_day(boat, bosun, monkeypatch):
    done = []
    monkeypatch.setattr(keeping, "prune", done.append)
    (files.folder() / ".pruned").unlink(missing_ok=True)
    now = timezone.now()
    for hours in (0, 1, 23, 25):
        keeping.prune_daily(now + dt.timedelta(hours=hours))
    assert len(done) == 2


@pytest.mark.django_db(transaction=True)
def test_the_same_photo_sent_four_times_at_once_is_one():
    boat = builders.boat(builders.empty_fleet("harbour"))
    client, number, statuses = signed_in(boat), uuid.uuid4(), []
    start = threading.Barrier(4)

    def send_it() -> None:
        try:
            start.wait()
            statuses.append(hand_in(client, boat, picture(), number).status_code)
        finally:
            connection.close()

    threads = [threading.Thread(target=send_it) for _ in range(4)]
    for each in threads:
        each.start()
    for each in threads:
        each.join()
    assert sorted(statuses) == [200] * 3 + [201]
    assert Photo.objects.count() == 1
