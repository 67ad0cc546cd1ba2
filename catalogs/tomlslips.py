"""Slips in a TOML text, told in plain words: each is known by what its line looks like."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, NamedTuple

from catalogs.errors import Fault

if TYPE_CHECKING:
    from collections.abc import Callable

NAME = r"""(?:[\w-]+|"[^"\n]*"|'[^'\n]*')"""
KEY = re.compile(rf"^\s*({NAME}(?:\s*\.\s*{NAME})*)\s*=")
# A string that is not closed runs to the end of its line.
STRING_OR_COMMENT = re.compile(r'"(?:\\.|[^"\\\n])*+"?|\'[^\'\n]*\'?|#[^\n]*')

_CURLY = re.compile(r"[\u2018-\u201f]")
_WHERE = re.compile(r"\(at line (\d+), column \d+\)|\(at end of document\)")
_NO_QUOTES = re.compile(r"=\s*(?P<value>[+-]?\.?\d(?:[\d\s./-]|,(?=\s*[\d.+-]))*[A-Za-z%°'\"][^#,\]}]*)")
_COLON = re.compile(rf"^\s*({NAME})\s*:(?!\w)")
_BARE_TEXT = re.compile(rf"^\s*(?:{NAME}\s*\.\s*)*{NAME}\s*=\s*(?P<value>[A-Za-z][\w .-]*?)\s*(?:#.*)?$")
_BARE_TEXT_INSIDE = re.compile(rf"[{{,]\s*{NAME}\s*=\s*(?P<value>[A-Za-z][\w -]*?)\s*[,}}]")
_TWO_WORDS = re.compile(r"^\s*(?P<words>[A-Za-z][\w-]*(?:[ \t]+[\w-]+)+)\s*=")
_NO_EQUALS = re.compile(r"^\s*(?P<key>[A-Za-z][\w.-]*)\s+(?P<value>[\"'\[{\d].*)$")
_OPEN_HEADER = re.compile(r"^\s*\[\[?(?P<name>[^\]\[=]*)$")
_SPACED_HEADER = re.compile(r"^\s*\[\[?\s*(?P<name>[\w.-]+(?:[ \t]+[\w.-]+)+)\s*\]")
_AFTER_STRING = re.compile(r"=\s*(?P<first>\"(?:\\.|[^\"\\])*\"|'[^']*')\s*(?P<rest>[^\s#,\]}].*)$")
_COMMA_NUMBER = re.compile(r"=\s*([+-]?\d+),(\d+)\s*(?:#.*)?$")
_NO_VALUE = re.compile(rf"^\s*{NAME}\s*=\s*(?:#.*)?$")


class _Said(NamedTuple):
    message: str
    expected: str | None


class _Slip(NamedTuple):
    """What is known of a place that TOML does not read: its line, what TOML says, and the line cleared of strings."""

    line: str
    reason: str
    bare: str


def _header(s: _Slip) -> _Said | None:
    if found := _SPACED_HEADER.match(s.line):
        *before, last = found["name"].split(".")
        quoted = ".".join([*before, f'"{last}"'])
        return _Said("a name of two words in the head of a table", f"quotes round it: [{quoted}]")
    if found := _OPEN_HEADER.match(s.bare):
        return _Said("the head of a table is not closed", f"[{found['name'].strip()}]")
    return None


def _whole_line(s: _Slip) -> _Said | None:
    if s.line.startswith(("//", "/*", "--", ";")):
        return _Said("no key and no comment", "a comment begins with #")
    if found := _COLON.match(s.line):
        return _Said("a colon where = belongs", f"{found[1]} = ...")
    if found := _TWO_WORDS.match(s.line):
        joined = "_".join(found["words"].split())
        return _Said("a key of two words", f'{joined} = ..., or quotes round it: "{found["words"]}"')
    if found := _NO_EQUALS.match(s.line):
        return _Said("no = after the key", f"{found['key']} = {found['value']}")
    return None


def _value(s: _Slip) -> _Said | None:
    if found := _NO_QUOTES.search(s.line):
        return _Said("a unit without quotes", f"quotes round the whole: {_quoted(found['value'].strip())}")
    if found := _COMMA_NUMBER.search(s.line):
        return _Said("a comma in a number", f"a point: {found[1]}.{found[2]}")
    if _NO_VALUE.match(s.line):
        return _Said("no value after =", "a value, text and figures with units in quotes")
    text = _BARE_TEXT.match(s.line) or _BARE_TEXT_INSIDE.search(s.line)
    if text and text["value"].lower() in {"true", "false", "yes", "no"}:
        return _Said(f"{text['value']} is no value", "true or false, in small letters and without quotes")
    if text and text["value"] not in {"inf", "nan"}:
        return _Said("text without quotes", f'quotes round it: "{text["value"]}"')
    return None


def _quotes(s: _Slip) -> _Said | None:
    if re.search(r"'\\n'|Expected \"'\"", s.reason) or "Unterminated string" in s.reason:
        return _Said("a quote is opened and not closed on this line", '"..."')
    if re.search(r"=\s*(\"[^\"]*\"|'[^']*'|[\d.]+)\s*,\s*(#.*)?$", s.line):
        return _Said("a comma after a value that stands in no list", "no comma there")
    if "Unescaped '\\'" in s.reason:
        return _Said("a \\ in a text in double quotes", "/ between folders, or single quotes round the text")
    return _after_string(s)


def _after_string(s: _Slip) -> _Said | None:
    if (found := _AFTER_STRING.search(s.line)) and "after a statement" in s.reason:
        first, rest = found["first"], found["rest"].strip()
        if first[0] == '"' and rest == '"' and first[-2:-1].isdigit():
            return _Said("an inch mark inside double quotes", f"'{first[1:-1]}\"', or in for inches: {first[:-1]} in\"")
        if first[0] == "'" and rest[0].isalpha():
            return _Said(
                "a ' inside single quotes ends the text", f'double quotes: "{(first[1:] + rest).rstrip(chr(39))}"'
            )
        return _Said(f"{rest[:20]} stands after the end of the text", "one text in quotes, or a list in [ ]")
    return None


def _brackets(s: _Slip) -> _Said | None:
    if re.search(r",\s*\}", s.bare):
        return _Said("a comma before } ", "no comma after the last of { ... }")
    if s.bare.count("}") > s.bare.count("{") and "=" in s.bare:
        return _Said("a } without its {", "as many } as {")
    return None


_KNOWN: tuple[Callable[[_Slip], _Said | None], ...] = (_quotes, _header, _value, _whole_line, _brackets)


def slip(text: str, reason: str, shown: str) -> Fault:
    """The fault of a text that is no TOML.

    Args:
        text: the file.
        reason: what the parser says, with its line.
        shown: the name of the file in the fault.
    """
    where = _WHERE.search(reason)
    lines = text.split("\n")
    number = int(where[1]) if where and where[1] else len(text.rstrip().split("\n"))
    reason = _WHERE.sub("", reason).strip()
    if re.search("overwrite|declare|mutate|twice", reason, re.IGNORECASE) and not _OPEN_HEADER.match(lines[number - 1]):
        return _twice(lines, number, shown)
    line, before = (lines[n].strip() if 0 <= n < len(lines) else "" for n in (number - 1, number - 2))
    if _CURLY.search(STRING_OR_COMMENT.sub("", line)):
        return _fault(lines, number, shown, "curly quotes", 'straight quotes: "')
    for back, candidate in enumerate((line, before)):
        bare = STRING_OR_COMMENT.sub("", candidate)
        if bare.count("{") > bare.count("}") and not re.search(r",\s*\}", bare):
            return _fault(
                lines, number - back, shown, "a table in { } broken over two lines", "all of { ... } on one line"
            )
    if "nclosed array" in reason:
        return _open_list(lines, number, shown)
    for known in _KNOWN:
        if said := known(_Slip(line, reason, STRING_OR_COMMENT.sub("", line))):
            return _fault(lines, number, shown, said.message.strip(), said.expected)
    return _fault(lines, number, shown, f"not TOML: {reason[:1].lower()}{reason[1:]}", None)


def _fault(lines: list[str], number: int, shown: str, message: str, expected: str | None) -> Fault:
    line, before = (lines[n] if 0 <= n < len(lines) else "" for n in (number - 1, number - 2))
    key = KEY.match(line) or _COLON.match(line) or _NO_EQUALS.match(line) or (not line.strip() and KEY.match(before))
    return Fault(file=shown, line=number, key=key[1].strip() if key else None, message=message, expected=expected)


def _twice(lines: list[str], number: int, shown: str) -> Fault:
    """The fault of a key or table that stands twice, with the line where it stood first."""
    begin = re.match(rf"\s*(\[[^\]]*\]|{NAME}(?:\s*\.\s*{NAME})*)", lines[number - 1])
    again = re.compile(rf"\s*{re.escape(begin[1])}\s*(?:[=.#]|$)" if begin else r"(?!)")
    alike = [n for n, line in enumerate(lines[: number - 1], 1) if again.match(line)]
    first = f": it stands on line {alike[-1]} already" if alike else ""
    return _fault(lines, number, shown, "this key or table stands here a second time", "each name once" + first)


def _open_list(lines: list[str], number: int, shown: str) -> Fault:
    """The fault of a list whose end is not found: at the line where it begins, or where a comma is missing."""
    here, above = (lines[n].split("#")[0].strip() if 0 <= n < len(lines) else "" for n in (number - 1, number - 2))
    if here[:1] in {'"', "'"} and above[-1:] in {'"', "'"}:
        return _fault(lines, number, shown, "no comma between two members of a list", '["...", "..."]')
    for n in range(min(number, len(lines)), 0, -1):
        bare = STRING_OR_COMMENT.sub('""', lines[n - 1])
        if re.search(r'""\s*""', bare):
            return _fault(lines, n, shown, "no comma between two members of a list", '["...", "..."]')
        if KEY.match(lines[n - 1]) and bare.count("[") > bare.count("]"):
            return _fault(lines, n, shown, "a list that is opened and not closed", "] after its last member")
    return _fault(lines, number, shown, "a list that is opened and not closed", "] after its last member")


def _quoted(value: str) -> str:
    """The value in quotes; a last `"` after a letter is a stray quote, after a digit it means inches."""
    if value.endswith('"') and not value[-2:-1].isdigit():
        value = value[:-1].rstrip()
    return f"'{value}'" if '"' in value else f'"{value}"'
