"""Files are written whole or not at all."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from catalogs.errors import OutputError


def whole_file(path: Path, content: bytes) -> Path:
    """Write a file whole: beside its place first, then moved into it.

    Raises:
        OutputError: the folder or the file cannot be written; nothing is left half done.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=".", suffix=".part")
    except OSError as error:
        raise OutputError(f"cannot write in {path.parent}: {error.strerror or error}") from None
    beside = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
        beside.chmod(0o644)
        beside.replace(path)
    except OSError as error:
        beside.unlink(missing_ok=True)
        raise OutputError(f"cannot write {path}: {error.strerror or error}") from None
    return path
