"""Text that a person wrote, made safe to print: one line, no control characters, no surprise in a file's name."""

from __future__ import annotations

import re
import unicodedata

LONGEST_NAME = 60


def one_line(text: str) -> str:
    """The text without line breaks, control or direction-changing characters."""
    kept = (" " if unicodedata.category(c)[0] in "CZ" else c for c in text)
    return " ".join("".join(kept).split())


def file_stem(*texts: str) -> str:
    """A name for a file from the first of these texts that leaves one: letters, digits, - and _ only."""
    for text in texts:
        plain = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode()
        name = re.sub(r"[^A-Za-z0-9_-]+", "-", plain).strip("-_")[:LONGEST_NAME].rstrip("-_")
        if name:
            return name
    return "plan"
