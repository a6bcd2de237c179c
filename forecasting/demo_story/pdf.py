"""One page of text as PDF (ISO 32000-1:2008), for the reports of others. Pure, always the same."""

from collections.abc import Sequence

A4 = (595, 842)  # points
LEFT, TOP, STEP = 64, 770, 17
FONTS = b"/F1 4 0 R /F2 5 0 R"


def page(title: str, lines: Sequence[str]) -> bytes:
    """Return a PDF of one A4 page: a title, then lines, in a font every reader has."""
    text = [f"BT /F2 17 Tf {LEFT} {TOP} Td ({_told(title)}) Tj ET"]
    for number, line in enumerate(lines, start=2):
        text.append(f"BT /F1 11 Tf {LEFT} {TOP - STEP * number} Td ({_told(line)}) Tj ET")
    drawn = "\n".join(text).encode("cp1252", "replace")
    font = b"<< /Type /Font /Subtype /Type1 /BaseFont /%s /Encoding /WinAnsiEncoding >>"
    return _file(
        b"<< /Type /Catalog /Pages 2 0 R >>",
        b"<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
        b"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 %d %d] /Contents 6 0 R "
        b"/Resources << /Font << %s >> >> >>" % (*A4, FONTS),
        font % b"Helvetica",
        font % b"Helvetica-Bold",
        b"<< /Length %d >>\nstream\n%s\nendstream" % (len(drawn), drawn),
    )


def _told(text: str) -> str:
    return text.replace("\\", r"\\").replace("(", r"\(").replace(")", r"\)")


def _file(*objects: bytes) -> bytes:
    """Return the objects, numbered from 1, with the table of where each begins."""
    whole, begins = b"%PDF-1.4\n", []
    for number, content in enumerate(objects, start=1):
        begins.append(len(whole))
        whole += b"%d 0 obj\n%s\nendobj\n" % (number, content)
    rows = b"".join(b"%010d 00000 n \n" % begin for begin in begins)
    size = len(objects) + 1
    tail = b"xref\n0 %d\n0000000000 65535 f \n%strailer\n<< /Size %d /Root 1 0 R >>\n"
    return whole + tail % (size, rows, size) + b"startxref\n%d\n%%%%EOF\n" % len(whole)
