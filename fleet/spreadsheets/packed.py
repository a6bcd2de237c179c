"""What a ZIP file truly holds, whatever its own directory claims of it."""

import io
import zipfile
import zlib
from collections.abc import Iterator
from pathlib import PurePosixPath

MOST_UNPACKED = 300 * 1024 * 1024
MOST_MEMBERS = 2_000
CHUNK = 1 << 20
ENTRY = b"PK\x01\x02"  # Begins each line of the directory.
ENCRYPTED = 0x1


class Refused(ValueError):
    """A file that is not opened, in two sentences: what is wrong, and what to do about it."""

    def __init__(self, wrong: str, right: str, sheet: str = "") -> None:
        super().__init__(wrong)
        self.wrong, self.right, self.sheet = wrong, right, sheet


def members_of(content: bytes) -> dict[str, zipfile.ZipInfo]:
    """Return the members by folded name, since readers look them up in either case.

    Raises Refused, or zipfile.BadZipFile when it is no ZIP file or a damaged one.
    """
    if content.count(ENTRY) > MOST_MEMBERS:  # Before the directory is read: it may be the attack.
        raise Refused(
            f"The file is made of more than {MOST_MEMBERS:,} pieces, which no workbook is.",
            "Open it in the spreadsheet program and save it as a new XLSX file.",
        )
    with zipfile.ZipFile(io.BytesIO(content)) as packed:
        infos = packed.infolist()
    members = {info.filename.casefold(): info for info in infos}
    if len(members) < len(infos):
        raise zipfile.BadZipFile("Two members have one name.")
    for info in infos:
        if ".." in PurePosixPath(info.filename).parts:
            raise Refused(
                "A piece of the file has a name that leads out of it, which no program writes.",
                "Do not trust it: ask whoever sent it for a new file.",
            )
    if any(info.flag_bits & ENCRYPTED for info in infos):
        raise Refused("The file is under a password.", "Save it without a password.")
    return members


def unpacked(content: bytes, member: zipfile.ZipInfo, most: int = MOST_UNPACKED) -> Iterator[bytes]:
    """Yield a member's bytes, whatever length its header claims, up to ``most``."""
    length = 0
    for chunk in _inflated(content, member):
        length += len(chunk)
        most -= len(chunk)
        if most < 0:
            size = f"{MOST_UNPACKED >> 20:,} MB"
            raise Refused(
                f"Unpacked, the file is larger than {size}.",
                "Delete sheets, pictures and formats that are not needed.",
            )
        yield chunk
    if length != member.file_size:
        raise zipfile.BadZipFile("The file is not as long as its directory claims.")


def _inflated(content: bytes, member: zipfile.ZipInfo) -> Iterator[bytes]:
    start = member.header_offset
    lengths = content[start + 26 : start + 30]
    start += 30 + int.from_bytes(lengths[:2], "little") + int.from_bytes(lengths[2:], "little")
    packed = content[start : start + member.compress_size]
    if member.compress_type == zipfile.ZIP_STORED:
        yield packed
        return
    if member.compress_type != zipfile.ZIP_DEFLATED:
        raise zipfile.BadZipFile("The file is packed in an unusual way.")
    inflate = zlib.decompressobj(-15)
    while packed and not inflate.eof:
        try:
            chunk = inflate.decompress(packed, CHUNK)
        except zlib.error as trouble:
            raise zipfile.BadZipFile("The file is damaged.") from trouble
        packed = inflate.unconsumed_tail
        yield chunk
