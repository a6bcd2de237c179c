"""Several PDFs bound into one, with a bookmark a part.

Our own come as they are. One from outside is opened here and nowhere else: pages only are taken
over, by a reader in plain Python; what is locked, damaged or endless is told apart and left out.
"""

import io
import struct
import zlib

from pypdf import PdfReader, PdfWriter
from pypdf.errors import PyPdfError

MOST_PAGES = 400
# What a damaged file makes a reader of PDF stumble over.
STUMBLES = (
    PyPdfError, ValueError, TypeError, KeyError, IndexError, AttributeError, AssertionError,
    RecursionError, OverflowError, NotImplementedError, struct.error, zlib.error,
)  # fmt: skip


class Unbound(Exception):
    """A PDF that cannot be bound in, with the reason in words."""


def readable(content: bytes) -> int:
    """Return the number of pages of a PDF from outside. Raises Unbound."""
    try:
        reader = PdfReader(io.BytesIO(content), strict=False)
        if reader.is_encrypted:
            raise Unbound("under a password")
        pages = len(reader.pages)
        if pages > MOST_PAGES:
            raise Unbound(f"more than {MOST_PAGES} pages")
        if not pages:
            raise Unbound("without a page")
        bind("", [("", content)])
    except STUMBLES as trouble:
        raise Unbound("its PDF cannot be read here") from trouble
    return pages


def bind(title: str, parts: list[tuple[str, bytes]]) -> bytes:
    """Return one PDF of these, each under a bookmark of its name; its own bookmarks are left."""
    writer = PdfWriter()
    for name, content in parts:
        writer.append(io.BytesIO(content), outline_item=name or None, import_outline=False)
    writer.add_metadata({"/Title": title})
    bound = io.BytesIO()
    writer.write(bound)
    return bound.getvalue()
