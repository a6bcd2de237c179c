"""Files as they are handed in: read only as far as a too large one shows that it is."""

from dataclasses import dataclass
from pathlib import Path

from .packed import Refused

MOST_BYTES = 20 * 1024 * 1024  # Of all files handed in together.


@dataclass(frozen=True)
class NamedFile:
    """A file as it was handed in."""

    name: str
    content: bytes


def files_at(path: Path) -> list[NamedFile]:
    """Return the file at a path, or the CSV files of a folder. Raises Refused for a link there."""
    folder = path.is_dir()
    files, left = [], MOST_BYTES + 1
    for each in sorted(path.glob("*.[cC][sS][vV]")) if folder else [path]:
        if folder and each.is_symlink():
            raise Refused(
                f"{each.name} in the folder is a link to a file somewhere else.",
                "Put the file itself into the folder.",
            )
        if each.is_file():
            with each.open("rb") as handle:
                files.append(NamedFile(each.name, handle.read(left)))
            left -= len(files[-1].content)
    return files
