"""Photos: drawn anew, kept once, for members of one fleet, shown beside the last of the place."""

import datetime as dt
import io
import struct
import threading
import uuid
import zlib

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.utils import timezone
from PIL import Image

from inspections.models import Finding, Photo
from inspections.photos import files, keeping
from inspections.photos.redraw import LONGEST, MOST_BYTES, SMALL, NoPhoto, redraw
from tests import builders
from tests.inspections.docks import address, day, inspect, part, read, saw, signed_in
from tests.inspections.drafts import draft, send, sight

GPS, ORIENTATION, MAKER = 0x8825, 0x0112, 0x010F


def picture(form: str = "JPEG", size=(80, 40), mode: str = "RGB", **saved) -> bytes:
    """Return a picture, its left half red and its right half blue."""
    image = Image.new(mode, size, (200, 0, 0, 255)[: len(Image.new(mode, (1, 1)).getbands())])
    image.paste((0, 0, 200, 255)[: len(image.getbands())], (size[0] // 2, 0, size[0], size[1]))
    content = io.BytesIO()
    image.save(content, form, **saved)
    return content.getvalue()


def exif(**tags) -> Image.Exif:
    given = Image.Exif()
    given[MAKER] = "A telephone of Hanna"
    given.get_ifd(GPS).update({1: "N", 2: (54.0, 19.0, 3.0), 3: "E", 4: (10.0, 8.0, 1.0)})
    given[GPS] = given.get_ifd(GPS)
    for name, value in tags.items():
        given[{"orientation": ORIENTATION}[name]] = value
    return given


def opened(content: bytes) -> Image.Image:
    return Image.open(io.BytesIO(content))


# -- drawing anew: no database


def test_where_and_by_whom_it_was_taken_is_left_behind():
    sent = picture(exif=exif(), comment=b"taken at the winter berth")
    assert b"A telephone of Hanna" in sent
    assert b"winter berth" in sent
    assert opened(sent).getexif().get_ifd(GPS)
    made = redraw(sent)
    for kept in (made.jpeg, made.small):
        image = opened(kept)
        assert (image.format, dict(image.getexif())) == ("JPEG", {})
        assert not {"exif", "comment", "icc_profile", "xmp"} & image.info.keys()
        assert b"Hanna" not in kept
        assert b"winter" not in kept


def test_a_photo_taken_with_the_phone_on_its_side_stands_upright():
    made = redraw(picture(exif=exif(orientation=6)))
    assert (made.width, made.height) == (40, 80)
    red, _, blue = opened(made.jpeg).getpixel((20, 10))
    assert red > 150 > blue


@pytest.mark.parametrize(("form", "mode"), [("PNG", "RGBA"), ("PNG", "L"), ("WEBP", "RGB"),
                                            ("PNG", "I;16"), ("JPEG", "CMYK")])  # fmt: skip
def test_content_decides_and_whatever_it_is_becomes_a_jpeg(form, mode):
    image = Image.new(mode, (80, 40))
    content = io.BytesIO()
    image.save(content, form)
    assert opened(redraw(content.getvalue()).jpeg).mode == "RGB"


def test_what_is_transparent_is_white_and_not_black():
    content = io.BytesIO()
    Image.new("RGBA", (80, 40), (0, 0, 0, 0)).save(content, "PNG")
    assert opened(redraw(content.getvalue()).jpeg).getpixel((5, 5)) == (255, 255, 255)


def test_a_large_photo_is_made_smaller_and_its_thumbnail_smaller_still():
    made = redraw(picture(size=(5000, 2500)))
    assert (made.width, made.height) == (LONGEST, LONGEST // 2)
    assert max(opened(made.small).size) == SMALL


@pytest.mark.parametrize(
    ("sent", "words"),
    [
        (b"", "This is no photo"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'><script>alert(1)</script></svg>", "no photo"),
        (b"GIF89a" + b"\0" * 60, "no photo"),
        (b"%PDF-1.7 and a shroud", "no photo"),
        (picture(size=(8, 8)), "8 by 8 pixels"),
        (picture(size=(900, 900), form="PNG")[:900], "damaged"),
        (b"\xff\xd8\xff" + b"\0" * (MOST_BYTES + 1), "at most 15 MB"),
    ],
)  # fmt: skip
def test_what_is_no_photo_is_refused_in_words(sent, words):
    with pytest.raises(NoPhoto, match=words):
        redraw(sent)


@pytest.mark.parametrize("side", [9_000, 12_000, 40_000])
def test_a_picture_that_would_fill_the_memory_is_refused_before_it_is_unpacked(side):
    """A PNG of one colour: 40,000 by 40,000 pixels take 200 kB on the wire, 1.6 GB unpacked."""

    def chunk(name: bytes, content: bytes) -> bytes:
        tail = struct.pack(">I", zlib.crc32(name + content))
        return struct.pack(">I", len(content)) + name + content + tail

    header = struct.pack(">IIBBBBB", side, side, 8, 0, 0, 0, 0)
    bomb = b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", b"") + chunk(b"IEND", b"")
    with pytest.raises(NoPhoto, match="at most 64 million pixels"):
        redraw(bomb)


@pytest.mark.filterwarnings("ignore::UserWarning:PIL")  # Of tags it skips, which we drop anyway.
def test_no_damage_to_a_photo_breaks_the_page():
    """Bytes changed all over, in three kinds of file: drawn or refused, nothing else."""
    outcomes = set()
    for form in ("JPEG", "PNG", "WEBP"):
        good = picture(form=form, size=(64, 48), **({"exif": exif()} if form == "JPEG" else {}))
        for place in range(2, len(good), max(1, len(good) // 90)):
            bad = bytearray(good)
            bad[place] ^= 0xFF
            try:
                redraw(bytes(bad))
                outcomes.add("drawn")
            except NoPhoto:
                outcomes.add("refused")
    assert outcomes == {"drawn", "refused"}


# -- taking in, showing, pruning


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
