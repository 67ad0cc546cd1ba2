"""Files are written whole or not at all, and files that belong together are all ready before the first is moved."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

from catalogs.errors import OutputError

if TYPE_CHECKING:
    from collections.abc import Mapping


def whole_files(contents: Mapping[Path, bytes]) -> list[Path]:
    """Write files that belong together: each beside its place first, then, when all are there, into it.

    Raises:
        OutputError: a folder or a file cannot be written; no file is left half done.
    """
    ready: dict[Path, Path] = {}
    try:
        for path, content in contents.items():
            ready[path] = _beside(path, content)
        for path, part in ready.items():
            part.replace(path)
    except OSError as error:
        raise OutputError(f"cannot write {path}: {error.strerror or error}") from None
    finally:
        for part in ready.values():
            part.unlink(missing_ok=True)
    return list(contents)


def _beside(path: Path, content: bytes) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=".", suffix=".part")
    part = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
        part.chmod(0o644)
    except OSError:
        part.unlink(missing_ok=True)
        raise
    return part
