"""`new`: a started plan beside its shop folder, and a blank sheet to measure a vehicle with."""

from __future__ import annotations

from typing import TYPE_CHECKING

from catalogs.errors import OutputError
from reports.files import whole_files

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path, PurePath

SHEET = "measuring-sheet.pdf"


def start(example: Path, folder: Path) -> list[Path]:
    """Copy an example plan into a folder, with a measuring sheet beside it.

    Args:
        example: folder of the example.
        folder: where to; made if it is not there.

    Raises:
        OutputError: something of the same name is there already, or the folder cannot be written.
    """
    from reports.measuring import draw_measuring_sheet

    sources = {folder / path: example / path for path in _inside(example)}
    sheet = folder / SHEET
    taken = [str(path) for path in [*sources, sheet] if path.exists()]
    if taken:
        raise OutputError(f"already there, and not overwritten: {', '.join(taken)}")
    contents = {target: source.read_bytes() for target, source in sources.items()}
    return whole_files(contents | {sheet: draw_measuring_sheet()})


def _inside(folder: Path) -> Iterator[PurePath]:
    for path in sorted(folder.rglob("*")):
        if path.is_file() and path.suffix in {".toml", ".csv"}:
            yield path.relative_to(folder)
