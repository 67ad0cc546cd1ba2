"""Signs that word processors put for what a keyboard has: they are never read, only told apart."""

from __future__ import annotations

import re
import unicodedata

_PLAIN = str.maketrans(
    {
        "\u2010": "-",
        "\u2011": "-",
        "\u2012": "-",
        "\u2013": "-",
        "\u2014": "-",
        "\u2212": "-",
        "\u2018": "'",
        "\u2019": "'",
        "\u2032": "'",
        "\u201c": '"',
        "\u201d": '"',
        "\u2033": '"',
        "\u2215": "/",
    }
)


def plain(text: str) -> str:
    """The text with dashes, primes and fractions as a keyboard has them; other signs stay."""
    fractions = (" " + unicodedata.normalize("NFKC", c) if _is_fraction(c) else c for c in text)
    written = "".join(fractions).replace("\u2044", "/").translate(_PLAIN)
    return written if written == text else re.sub(r"\s+", " ", written).strip()


def _is_fraction(sign: str) -> bool:
    return unicodedata.decomposition(sign).startswith("<fraction>") and unicodedata.numeric(sign, 0) > 0
