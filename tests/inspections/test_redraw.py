"""A photo drawn anew: nothing but the picture is kept, and what is none is refused. No database."""

import io
import struct
import zlib

import pytest
from PIL import Image, PngImagePlugin

from inspections.photos.redraw import LONGEST, MOST_BYTES, SMALL, NoPhoto, redraw

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


XMP = b"<x:xmpmeta xmlns:x='adobe:ns:meta/'>exif:GPSLatitude 54,19.05N</x:xmpmeta>"


@pytest.mark.parametrize("form", ["PNG", "WEBP"])
def test_where_it_was_taken_is_left_behind_whatever_kind_of_file_says_it(form):
    """EXIF is a chunk of a PNG too (PNG, third edition, eXIf), and of a WebP (RFC 9649)."""
    more = {"xmp": XMP} if form == "WEBP" else {"pnginfo": PngImagePlugin.PngInfo()}
    if form == "PNG":
        more["pnginfo"].add_itxt("XML:com.adobe.xmp", XMP.decode())
        more["pnginfo"].add_text("Comment", "taken at the winter berth")
    sent = picture(form, exif=exif(), **more)
    assert opened(sent).getexif().get_ifd(GPS)
    assert b"GPSLatitude" in sent
    made = redraw(sent)
    for kept in (made.jpeg, made.small):
        assert dict(opened(kept).getexif()) == {}
        assert not [word for word in (b"GPS", b"winter", b"Hanna", b"Exif") if word in kept]


@pytest.mark.parametrize(
    "tail",
    [b"<script>alert(1)</script>", b"PK\x03\x04 rig.zip", b"%PDF-1.7 trailer", b"<?php echo 1;"],
)
def test_a_file_that_is_a_photo_and_something_else_keeps_the_photo_alone(tail):
    for sent in (picture() + tail, picture("PNG") + tail, picture(comment=tail)):
        made = redraw(sent)
        assert tail not in made.jpeg + made.small
        assert made.jpeg.startswith(b"\xff\xd8\xff")
        assert made.jpeg.endswith(b"\xff\xd9")


def test_of_a_picture_that_moves_the_first_frame_is_kept():
    frames = [Image.new("RGB", (64, 48), colour) for colour in ("#c80000", "#0000c8")]
    content = io.BytesIO()
    frames[0].save(content, "WEBP", save_all=True, append_images=frames[1:], duration=100)
    made = opened(redraw(content.getvalue()).jpeg)
    red, _, blue = made.getpixel((20, 20))
    assert getattr(made, "n_frames", 1) == 1
    assert red > 150 > blue


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
        (b"\0\0\0\x18ftypheic\0\0\0\0mif1heic" + b"\0" * 60, "a JPEG, PNG or WebP is wanted"),
        (b"\0\0\0\x1cftypavif\0\0\0\0avifmif1" + b"\0" * 60, "a JPEG, PNG or WebP is wanted"),
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
    jpeg = picture()  # The same said by a JPEG: its frame header (ITU-T T.81, B.2.2) has the size.
    frame = jpeg.index(b"\xff\xc0") + 5
    big = jpeg[:frame] + struct.pack(">HH", side, side) + jpeg[frame + 4 :]
    for sent in (bomb, big):
        with pytest.raises(NoPhoto, match="at most 64 million pixels"):
            redraw(sent)


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
