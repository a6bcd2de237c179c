"""In which encoding a CSV file was saved: told where it proves itself, asked where it does not.

UTF-8 and UTF-16 with its mark prove themselves. Windows-1252, which many spreadsheet programs still
save by, does not: the same bytes are other letters in other encodings, and a wrong guess would
change people's names. So it is shown as it would read, and taken when somebody says so.
"""

import codecs
import re
from collections.abc import Sequence
from dataclasses import replace

from ..sheets import Fault
from .files import NamedFile

ASKED = ("windows-1252",)
MARKS = (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)
UTF8 = "Save it as “CSV UTF-8” in the spreadsheet program."
EXAMPLES = 3
WORD = re.compile(r"\w*[^\W\x00-\x7f]\w*")


def text_of(name: str, content: bytes) -> str | Fault:
    """Return the text of a CSV file, or what is wrong with it."""
    if content.startswith(MARKS):
        content = content.decode("utf-16", errors="replace").encode()
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as trouble:
        row = content.count(b"\n", 0, trouble.start) + 1
        right = UTF8
        if words := words_in(content, ASKED[0]):
            right = f"{UTF8} Or have it read as Windows-1252, if these are right: {words}."
        return Fault(name, row, "", "", "The file is not in UTF-8.", right)
    if "\0" in text:
        row = text.count("\n", 0, text.index("\0")) + 1
        wrong = "The file holds NUL characters, which no text does: it is damaged or no CSV file."
        return Fault(name, row, "", "", wrong, UTF8)
    return text


def words_in(content: bytes, encoding: str) -> str:
    """Return some words with letters beyond ASCII as they read so; nothing if none can be read."""
    try:
        text = content.decode(encoding)
    except UnicodeDecodeError:
        return ""
    if "\0" in text:
        return ""
    words = dict.fromkeys(found[0][:30] for found in WORD.finditer(text))
    return ", ".join(f"“{word}”" for word in list(words)[:EXAMPLES])


def asks(files: Sequence[NamedFile]) -> bool:
    """Return whether some of these CSV files can only be read in an encoding somebody names."""
    return any(is_csv(file) and _is_other(file.content) for file in files)


def is_csv(file: NamedFile) -> bool:
    return file.name.casefold().endswith(".csv")


def _is_other(content: bytes) -> bool:
    try:
        content.decode("utf-8-sig")
    except UnicodeDecodeError:
        return not content.startswith(MARKS) and bool(words_in(content, ASKED[0]))
    return False


def read_as(files: Sequence[NamedFile], encoding: str) -> list[NamedFile]:
    """Return the files with what is not UTF-8 read in that encoding, and as UTF-8 from here on.

    Raises ValueError for an encoding that is not asked about.
    """
    if encoding not in ASKED:
        raise ValueError(f"Files are read as UTF-8 or {ASKED[0]}.")
    return [
        replace(file, content=file.content.decode(encoding).encode())
        if is_csv(file) and _is_other(file.content)
        else file
        for file in files
    ]
