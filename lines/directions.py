"""Where a port points: in words as a fabricator says it, or as a vector in vehicle axes; and angles off a dial."""

from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING, Annotated, Any

from pydantic_core import CoreSchema, core_schema

from catalogs import words
from catalogs.fields import refuse

if TYPE_CHECKING:
    from pydantic import GetCoreSchemaHandler

WORDS: dict[str, tuple[float, float, float]] = {
    "forward": (1.0, 0.0, 0.0),
    "back": (-1.0, 0.0, 0.0),
    "left": (0.0, 1.0, 0.0),
    "right": (0.0, -1.0, 0.0),
    "up": (0.0, 0.0, 1.0),
    "down": (0.0, 0.0, -1.0),
}
_EXPECTED = 'a direction, like "down", "back 30 deg up" or "0.5, 0, -1"'
_TURN = re.compile(r"(\d{1,3}(?:\.\d{1,6})?)\s*(?:deg|°)\s+(\w+)")

_DIAL = re.compile(r"(\d{1,2}(?:\.\d+)?)\s*o['\u2019 ]?\s*clock", re.IGNORECASE)


def read_direction(text: object) -> tuple[float, float, float]:
    """The unit vector of a direction in vehicle axes.

    Raises:
        PydanticCustomError: with what was expected and the nearest word.
    """
    if not isinstance(text, str) or len(text) > 64:
        raise refuse("is no direction", expected=_EXPECTED)
    return _from_numbers(text) if "," in text else _from_words(text)


def _near(word: str) -> str | None:
    return words.near("direction", word, WORDS)


def _from_numbers(text: str) -> tuple[float, float, float]:
    try:
        x, y, z = (float(part) for part in text.split(","))
    except ValueError:
        raise refuse(f'"{text}" is no direction', expected=_EXPECTED) from None
    size = math.hypot(x, y, z)
    if not math.isfinite(size) or size == 0:
        raise refuse(f'"{text}" points nowhere', expected=_EXPECTED)
    return x / size, y / size, z / size


def _from_words(text: str) -> tuple[float, float, float]:
    first, _, rest = text.strip().partition(" ")
    if re.fullmatch(r"\d{1,3}(\.\d+)?", rest):
        reason = f'"{text}" does not say toward where, nor the unit'
        raise refuse(reason, expected=f'"{first} {rest} deg" and a direction, like "back 30 deg up"')
    turns = _TURN.findall(rest)
    if _TURN.sub("", rest).strip():
        raise refuse(f'"{text}" is no direction', expected=_EXPECTED, nearest_word=_near(first))
    for word in [first, *(w for _, w in turns)]:
        if word not in WORDS:
            raise refuse(f'"{word}" is no direction', expected=_EXPECTED, nearest_word=_near(word))
    x, y, z = WORDS[first]
    for degrees, word in turns:
        toward = WORDS[word]
        if abs(x * toward[0] + y * toward[1] + z * toward[2]) > 0.999:
            raise refuse(f'"{text}" turns along its own direction', expected=_EXPECTED)
        c, s = math.cos(math.radians(float(degrees))), math.sin(math.radians(float(degrees)))
        x, y, z = (c * a + s * b for a, b in zip((x, y, z), toward, strict=True))
    return _from_numbers(f"{x},{y},{z}")


class _Reader:
    def __get_pydantic_core_schema__(self, _source: Any, _handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(read_direction)


Direction = Annotated[tuple[float, float, float], _Reader()]


def from_dial(text: object) -> float | None:
    """The clock angle [deg] of a far end as read off a dial, `3 o'clock`; None if the text is no such reading."""
    hours = _DIAL.fullmatch(text.strip()) if isinstance(text, str) else None
    return None if hours is None else (6 - float(hours[1])) * 30 % 360
