"""A picture drawn anew from what was sent, so that nothing but the picture itself is kept. Pure.

What the camera wrote into the file (where, when, by whose telephone) is left behind; its content,
not its name, decides what it is; and its size is known before any of it is unpacked.
"""

import io
import struct
import zlib
from dataclasses import dataclass

from PIL import Image, ImageOps

MOST_BYTES = 15 * 1024 * 1024
MOST_PIXELS = 64_000_000  # 8,000 by 8,000: more than the camera of a phone makes.
LEAST_SIDE = 16
LONGEST = 2048
SMALL = 400
QUALITY = 84
FORMATS = ("JPEG", "PNG", "WEBP")
# What Pillow raises on a file that is damaged, by the part of the file that is.
DAMAGE = (OSError, SyntaxError, ValueError, EOFError, KeyError, IndexError, TypeError,
          OverflowError, struct.error, zlib.error)  # fmt: skip
BOMB = (Image.DecompressionBombError, Image.DecompressionBombWarning)


class NoPhoto(Exception):
    """What was sent cannot be kept as a photo; the message says why and what to do."""


@dataclass(frozen=True)
class Redrawn:
    """A JPEG and a small one of the same picture; sides in pixels of the larger."""

    jpeg: bytes
    small: bytes
    width: int
    height: int


def redraw(sent: bytes) -> Redrawn:
    """Return the picture drawn anew, the right way up; NoPhoto when that cannot be done."""
    if len(sent) > MOST_BYTES:
        raise NoPhoto(f"A photo takes at most {MOST_BYTES // 2**20} MB. Send a smaller one.")
    try:
        with _opened(sent) as image:
            picture = _upright(image)
    except DAMAGE as damage:
        words = "The photo is damaged, or arrived in part only. Send it again."
        raise NoPhoto(words) from damage
    small = picture.copy()
    small.thumbnail((SMALL, SMALL), Image.Resampling.LANCZOS)
    return Redrawn(_jpeg(picture), _jpeg(small), *picture.size)


def _opened(sent: bytes) -> Image.Image:
    """Return the picture, its size checked and nothing of it unpacked yet."""
    try:
        image = Image.open(io.BytesIO(sent), formats=FORMATS)
    except Image.UnidentifiedImageError as unknown:
        raise NoPhoto("This is no photo: a JPEG, PNG or WebP is wanted.") from unknown
    except BOMB as bomb:
        raise NoPhoto(_too_many()) from bomb
    width, height = image.size
    if width * height > MOST_PIXELS:
        raise NoPhoto(_too_many())
    if min(width, height) < LEAST_SIDE:
        raise NoPhoto(f"This picture is {width} by {height} pixels: nothing can be seen on it.")
    return image


def _too_many() -> str:
    return f"A photo has at most {MOST_PIXELS // 10**6} million pixels. Send a smaller one."


def _upright(image: Image.Image) -> Image.Image:
    """Return the picture at its size here, turned as it was held, on white, and nothing else."""
    image.draft("RGB", (LONGEST, LONGEST))  # A large JPEG is unpacked at a fraction of its size.
    turned = ImageOps.exif_transpose(image)
    turned.thumbnail((LONGEST, LONGEST), Image.Resampling.LANCZOS)
    if "A" in turned.getbands() or "transparency" in turned.info:
        turned = turned.convert("RGBA")
        clean = Image.new("RGB", turned.size, "white")
        clean.paste(turned, mask=turned.getchannel("A"))
        return clean
    # A new one takes the pixels alone: saved as it is, a comment in the file would go along.
    clean = Image.new("RGB", turned.size)
    clean.paste(turned.convert("RGB"))
    return clean


def _jpeg(picture: Image.Image) -> bytes:
    kept = io.BytesIO()
    picture.save(kept, "JPEG", quality=QUALITY, optimize=True)
    return kept.getvalue()
