"""Pictures of signs for the demonstration: drawn, never taken, and each says so. Pure.

A wire is a cylinder with its outer wires laid round it, a terminal a plain one; light comes from
the left. A picture is an array (HEIGHT, WIDTH, 3), red green blue, 0 to 1.
"""

import io
import zlib

import numpy as np
from PIL import Image, ImageDraw, ImageFont

WIDTH, HEIGHT, FOOT = 960, 720, 84
MIDDLE = WIDTH // 2
WIRE, BARREL = 72, 108  # half widths, px
MOUTH = 320  # px from the top at which the wire enters its terminal
LAY, OUTER = 620, 12  # px for one turn of the outer wires of a 1x19, and how many there are
STEEL, RUST = np.array([0.80, 0.82, 0.84]), np.array([0.50, 0.25, 0.09])
GROUND = np.array([0.60, 0.69, 0.76])
NOTE = "Drawn for the demonstration, not a photo"
Y, X = np.mgrid[0:HEIGHT, 0:WIDTH].astype(np.float32)


def terminal(caption: str, *, rust: float = 0.0, crack: bool = False) -> bytes:
    """Return a JPEG of a terminal. ``rust``: at its mouth, 0 none to 1 heavy."""
    picture = _with_wire(MOUTH)
    _put(picture, (_across(BARREL) < 1) & (Y >= MOUTH), _shade(BARREL))
    if rust:
        _stain(picture, rust, np.random.default_rng(zlib.crc32(caption.encode())))
    return _jpeg(picture, caption, CRACK if crack else ())


def wire(caption: str, *, dark: float) -> bytes:
    """Return a JPEG of a wire, one of its outer wires darker. ``dark``: 0 as the others to 1."""
    picture = _with_wire(HEIGHT)
    one = (_across(WIRE) < 1) & (np.floor(_turns() * OUTER) % OUTER == 4)
    picture[one] = picture[one] * (1 - 0.7 * dark) + 0.1 * dark * RUST
    return _jpeg(picture, caption)


def pin(caption: str, *, missing: bool) -> bytes:
    """Return a JPEG of the fork of a turnbuckle, its clevis pin with or without its split pin."""
    picture = _scene()
    _put(picture, (_across(150) < 1) & (Y > 90), _shade(150))
    _put(picture, (_across(26) < 1) & (Y > 90), np.full_like(X, 0.2))
    made = _image(picture)
    _draw_pin(ImageDraw.Draw(made), missing)
    return _written(made, caption)


CRACK = ((452, 352), (458, 392), (451, 424), (460, 468), (455, 515))


def _scene() -> np.ndarray:
    """Return the ground: sky and water out of focus."""
    light = 1.06 - 0.22 * (Y / HEIGHT)
    return np.clip(light[..., None] * GROUND, 0, 1)


def _across(half: float) -> np.ndarray:
    """Return how far each point is from the middle line, in half widths."""
    return np.abs(X - MIDDLE) / half


def _shade(half: float) -> np.ndarray:
    """Return the brightness of a cylinder of this half width."""
    turn = np.arcsin(np.clip((X - MIDDLE) / half, -1, 1))
    return 0.30 + 0.55 * np.cos(turn + 0.5) + 0.35 * np.exp(-(((turn + 0.62) / 0.16) ** 2))


def _turns() -> np.ndarray:
    """Return round how many turns the lay has come at each point of the wire."""
    turn = np.arcsin(np.clip((X - MIDDLE) / WIRE, -1, 1)) / (2 * np.pi)
    return turn + Y / LAY + 2


def _with_wire(down_to: int) -> np.ndarray:
    picture = _scene()
    between = np.abs((_turns() * OUTER) % 1 - 0.5) * 2  # 1 in the groove between two wires
    shade = _shade(WIRE) * (1 - 0.62 * between**4)
    _put(picture, (_across(WIRE) < 1) & (down_to > Y), shade)
    return picture


def _put(picture: np.ndarray, where: np.ndarray, shade: np.ndarray) -> None:
    picture[where] = np.clip(shade[where, None] * STEEL, 0, 1)


def _stain(picture: np.ndarray, rust: float, rng: np.random.Generator) -> None:
    """Let rust out at the mouth, and let it run down the barrel."""
    near = np.s_[MOUTH - 60 : HEIGHT, MIDDLE - BARREL : MIDDLE + BARREL]
    x, y, part = X[near], Y[near], picture[near]
    cover = np.zeros_like(x)
    for at in rng.uniform(MIDDLE - BARREL * 0.8, MIDDLE + BARREL * 0.8, int(6 + 26 * rust)):
        wide, long = rng.uniform(5, 15), rng.uniform(20, 60 + 150 * rust)
        along = np.where(y < MOUTH, (MOUTH - y) / 16, (y - MOUTH) / long)
        cover += np.exp(-(((x - at) / wide) ** 2) - along**2) * rng.uniform(0.5, 1)
    cover = np.clip(cover * (0.5 + rust), 0, 0.9)
    cover = np.where((y < MOUTH) & (np.abs(x - MIDDLE) >= WIRE), 0, cover)[..., None]
    part[:] = part * (1 - cover) + RUST * cover * (0.6 + part.mean(axis=2, keepdims=True))


def _draw_pin(draw: ImageDraw.ImageDraw, missing: bool) -> None:
    box = (MIDDLE - 250, 300, MIDDLE + 270, 384)
    draw.rounded_rectangle(box, 14, fill=(176, 180, 184), outline=(84, 90, 96), width=4)
    draw.rounded_rectangle((*box[:1], 276, MIDDLE - 200, 408), 10, fill=(150, 155, 160),
                           outline=(84, 90, 96), width=4)  # fmt: skip
    hole = (MIDDLE + 205, 326, MIDDLE + 237, 358)
    draw.ellipse(hole, fill=(38, 42, 48))
    if not missing:
        across = MIDDLE + 221
        draw.line((across, 270, across, 420), fill=(196, 160, 96), width=16)
        draw.ellipse((across - 22, 244, across + 22, 288), outline=(196, 160, 96), width=12)


def _image(picture: np.ndarray) -> Image.Image:
    return Image.fromarray((np.clip(picture, 0, 1) * 255).astype(np.uint8))


def _jpeg(picture: np.ndarray, caption: str, crack: tuple = ()) -> bytes:
    made = _image(picture)
    if crack:
        ImageDraw.Draw(made).line(crack, fill=(28, 24, 24), width=5, joint="curve")
    return _written(made, caption)


def _written(made: Image.Image, caption: str) -> bytes:
    """Write below it what it shows, and that it is drawn."""
    draw = ImageDraw.Draw(made)
    draw.rectangle((0, HEIGHT - FOOT, WIDTH, HEIGHT), fill=(246, 241, 228))
    draw.text((24, HEIGHT - FOOT + 12), caption, fill=(24, 40, 62), font=ImageFont.load_default(28))
    draw.text((24, HEIGHT - FOOT + 49), NOTE, fill=(70, 84, 104), font=ImageFont.load_default(22))
    jpeg = io.BytesIO()
    made.save(jpeg, "JPEG", quality=88)
    return jpeg.getvalue()
