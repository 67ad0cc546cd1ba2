"""Reads a TOML file that a person wrote: bounded, and every fault with its line in plain words."""

from __future__ import annotations

import re
import tomllib
from typing import TYPE_CHECKING, Any

from catalogs.errors import Fault, InputError
from catalogs.tomlslips import KEY, NAME, STRING_OR_COMMENT, slip

if TYPE_CHECKING:
    from pathlib import Path

LARGEST = 1_000_000  # bytes
LONGEST_LINE = 5_000  # characters

_HEADER = re.compile(rf"^\s*(\[\[?)\s*({NAME}(?:\s*\.\s*{NAME})*)\s*\]")
_LONG_STRING = r'"""(?:\\[\s\S]|[^\\])*?"{3,5}|\'{3}[\s\S]*?\'{3,5}'
_TOKEN = re.compile(rf"(?P<long>{_LONG_STRING})|{STRING_OR_COMMENT.pattern}")


class Places:
    """Which line of a TOML text each key stands on."""

    def __init__(self, text: str) -> None:
        self._lines: dict[tuple[str | int, ...], int] = {}
        table: tuple[str | int, ...] = ()
        counts: dict[tuple[str | int, ...], int] = {}
        depth = 0
        for number, line in enumerate(_without_long_strings(text).split("\n"), 1):
            if depth == 0 and (header := _HEADER.match(line)):
                names = _names(header[2])
                if header[1] == "[[":
                    array = (*_in_arrays(names[:-1], counts), names[-1])
                    counts[array] = counts.get(array, -1) + 1
                table = _in_arrays(names, counts)
                for end in range(1, len(table) + 1):
                    self._lines.setdefault(table[:end], number)
                continue
            if depth == 0 and (key := KEY.match(line)):
                path = (*table, *_names(key[1]))
                for end in range(len(table) + 1, len(path) + 1):
                    self._lines.setdefault(path[:end], number)
            bare = STRING_OR_COMMENT.sub("", line)
            depth = max(0, depth + sum(map(bare.count, "[{")) - sum(map(bare.count, "]}")))

    def line(self, path: tuple[str | int, ...]) -> int | None:
        """The line of the key, or of the nearest table or key above it that is known."""
        for end in range(len(path), 0, -1):
            if path[:end] in self._lines:
                return self._lines[path[:end]]
        return None


def _without_long_strings(text: str) -> str:
    """The text with an empty string, and as many lines, in place of each string of several lines."""
    return _TOKEN.sub(lambda m: m[0] if m["long"] is None else '""' + "\n" * m[0].count("\n"), text)


def _in_arrays(names: list[str], counts: dict[tuple[str | int, ...], int]) -> tuple[str | int, ...]:
    """The path of a header in the data: `[[a]]` stands for the last member so far of the array `a`."""
    path: tuple[str | int, ...] = ()
    for name in names:
        path = (*path, name)
        if path in counts:
            path = (*path, counts[path])
    return path


def _names(dotted: str) -> list[str]:
    return [name.strip().strip("\"'") for name in re.findall(NAME, dotted)]


def read_text(path: Path, shown: str) -> str:
    """The text of a file of at most a megabyte, with or without a byte-order mark.

    Raises:
        InputError: it cannot be read, is too large, has an endless line, or is not UTF-8.
    """
    try:
        with path.open("rb") as file:
            raw = file.read(LARGEST + 1)
    except OSError as error:
        known = {
            FileNotFoundError: "there is no such file",
            NotADirectoryError: "there is no such file",
            PermissionError: "may not be read: its permissions forbid it",
            IsADirectoryError: "this is a folder: name the plan file in it",
        }
        why = known.get(type(error)) or f"cannot be read: {error.strerror or 'the system does not say why'}"
        raise InputError([Fault(file=shown, message=why)]) from None
    if len(raw) > LARGEST:
        raise InputError([Fault(file=shown, message=f"larger than {LARGEST:,} bytes")])
    if raw.startswith((b"PK\x03\x04", b"\xd0\xcf\x11\xe0")):
        message = "a workbook of a spreadsheet, not a text"
        raise InputError([Fault(file=shown, message=message, expected="the sheet saved as CSV, in UTF-8")])
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        message = "saved as UTF-16 (its byte-order mark says so)"
        raise InputError([Fault(file=shown, line=1, message=message, expected="a text saved as UTF-8")])
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        message = "not UTF-8: a character here was saved in another encoding"
        raise InputError([Fault(file=shown, line=line, message=message, expected="a text saved as UTF-8")]) from None
    for number, written in enumerate(text.split("\n"), 1):
        if len(written) > LONGEST_LINE:
            message = f"a line of more than {LONGEST_LINE:,} characters"
            raise InputError([Fault(file=shown, line=number, message=message)])
    return text


def read_toml(path: Path, shown: str) -> tuple[dict[str, Any], Places]:
    """The data of a TOML file and the places of its keys.

    Raises:
        InputError: it cannot be read, or its syntax is wrong.
    """
    text = read_text(path, shown)
    try:
        data = tomllib.loads(text)
        giant = _holds_giant(data)
    except tomllib.TOMLDecodeError as error:
        raise InputError([slip(text, str(error), shown)]) from None
    except RecursionError:
        raise InputError([Fault(file=shown, message="nested too deeply")]) from None
    except ValueError:
        giant = True
    if giant:
        raise InputError([Fault(file=shown, message="a whole number of more than 64 bits")])
    return data, Places(text)


def _holds_giant(value: Any) -> bool:
    """Is there a whole number beyond TOML's 64 bits? Python refuses to print one of thousands of digits."""
    if isinstance(value, (dict, list)):
        return any(map(_holds_giant, value.values() if isinstance(value, dict) else value))
    return isinstance(value, int) and abs(value) >= 2**63
