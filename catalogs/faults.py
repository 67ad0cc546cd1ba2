"""Faults in our words for what a validation found, each with an example of what belongs there."""

from __future__ import annotations

import enum
import re
import types
import typing
from typing import TYPE_CHECKING, Any, Literal

from pydantic import BaseModel, ValidationError

from catalogs import units, words
from catalogs.errors import Fault, QuantityError
from catalogs.examples import in_units
from catalogs.fields import Part, dimensions_of

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from pydantic.fields import FieldInfo
    from pydantic_core import ErrorDetails

    from catalogs.units import System

Path = tuple[int | str, ...]
Told = tuple[str, str | None, str | None]
"""What is wrong, what was expected, and the nearest valid word."""

LONGEST_SHOWN = 40
"""More characters than this of what a person wrote are not said again."""
_LONG = re.compile(rf'^"([^"]{{{LONGEST_SHOWN}}})[^"]+"')

_SAID = {
    "missing": "is missing",
    "string_type": "must be text in quotes",
    "string_sub_type": "must be text in quotes",
    "string_unicode": "has characters that cannot be printed",
    "string_pattern_mismatch": "has characters that cannot be printed",
    "bool_type": "must be true or false",
    "bool_parsing": "must be true or false",
    "list_type": "must be a list in [ ]",
    "tuple_type": "must be a list in [ ]",
    "dict_type": "must be a table",
    "model_type": "must be a table",
    "model_attributes_type": "must be a table",
    "mapping_type": "must be a table",
    "union_tag_invalid": "is none of the tables that may stand here",
    "union_tag_not_found": "is none of the tables that may stand here",
}
_NUMBER = {
    "float_type": "is no number",
    "float_parsing": "is no number",
    "finite_number": "is no number of a sensible size",
    "int_type": "is no whole number",
    "int_parsing": "is no whole number",
    "int_parsing_size": "is no number of a sensible size",
    "int_from_float": "is no whole number",
    "greater_than": "is less than can be",
    "greater_than_equal": "is less than can be",
    "less_than": "is more than can be",
    "less_than_equal": "is more than can be",
}
_ASKED = {"source": 'where its figures are from, like "data sheet"'}
"""What a key asks for, where its field has no example of its own."""
_WHOLE = ("a ", "an ", "three ", "where ")
"""How what was expected begins where it is no mere example."""


def keys_of(model: type[BaseModel]) -> list[str]:
    """The keys as a person writes them."""
    return [field.alias or name for name, field in model.model_fields.items() if not field.exclude]


def faults_of(
    error: ValidationError,
    model: type[BaseModel],
    place: Callable[[Path], dict[str, Any]],
    system: System = "us",
) -> list[Fault]:
    """The faults that a validation found, in our words.

    Args:
        error: what pydantic found.
        model: the model that was read.
        place: file, line, table and key of a path inside the model's table.
        system: in whose units examples are shown.
    """
    items = error.errors(include_url=False)
    tried = {inner.__name__ for inner in _inner_models(model, set())}
    faults, misspelt = [], set()
    for item in sorted(items, key=lambda i: i["type"] != "extra_forbidden"):
        path, kind = item["loc"], item["type"]
        # Only because what it holds is at fault, or because its own key is misspelt.
        if (kind == "too_short" and _long_enough(item)) or (kind == "missing" and path in misspelt):
            continue
        message, expect, near = _TELL.get(kind, _plainly)(item, model)
        # What a validator expects may speak of what was written, and stays.
        if expect is not None and kind not in {"refused", "value_error"}:
            expect = in_units(expect, system)
        if kind == "extra_forbidden" and near is not None:
            misspelt.add((*path[:-1], near))
        at = item.get("ctx", {}).get("at")
        # Where a field may be one of several models, pydantic names the one it tried.
        written = tuple(key for key in path if key not in tried) + ((at,) if at else ())
        faults.append(Fault(message=message, expected=expect, nearest=near, **place(written)))
    return faults


def no_key(key: str, valid: list[str], sort: str = "key") -> Told:
    """A key that is none of the valid ones; `sort` is that of the trade's words for it."""
    expect = words.offer(sort, key, valid) or "one of " + ", ".join(valid)
    return "is no key here", expect, words.near(sort, key, valid)


# ---------------------------------------------------------------- each sort of error in words


def _refused(item: ErrorDetails, _model: type[BaseModel]) -> Told:
    facts = item["ctx"]
    return _LONG.sub(r'"\1 …"', str(facts["reason"])), facts.get("expected"), facts.get("nearest")


def _extra(item: ErrorDetails, model: type[BaseModel]) -> Told:
    holder = _model_at(model, item["loc"][:-1])
    return no_key(str(item["loc"][-1]), keys_of(holder), getattr(holder, "words", "key"))


def _no_choice(item: ErrorDetails, _model: type[BaseModel]) -> Told:
    valid = [w.strip("' ") for w in re.split(r",| or ", str(item["ctx"]["expected"]))]
    expect = " or ".join(", ".join(f'"{w}"' for w in valid).rsplit(", ", 1))
    key = next((key for key in reversed(item["loc"]) if isinstance(key, str)), "")
    if not isinstance(item["input"], (str, int, float)):
        return _SAID["string_type"], expect, None
    return _of(item, "is none of the choices"), expect, words.near(key, str(item["input"]), valid)


def _raised(item: ErrorDetails, model: type[BaseModel]) -> Told:
    """A validator's own error: a quantity knows what was expected, any other is not in a person's words."""
    error = item["ctx"]["error"]
    if isinstance(error, QuantityError):
        return str(error), error.expected, error.nearest
    return _plainly(item, model)


def _few_or_many(item: ErrorDetails, model: type[BaseModel]) -> Told:
    """A list with too few or too many members."""
    facts, count = item["ctx"], len(item["input"])
    bound = f"{facts['min_length']} or more" if item["type"] == "too_short" else f"at most {facts['max_length']}"
    if not count:
        return "is empty", _written(model, item["loc"]) or bound, None
    return f"{count} {'is' if count == 1 else 'are'} too {'few' if 'min_length' in facts else 'many'}", bound, None


def _short_or_long(item: ErrorDetails, _model: type[BaseModel]) -> Told:
    """A text that is too short or too long."""
    facts, length = item["ctx"], len(item["input"])
    if item["type"] == "string_too_long":
        return f"has {length:,} characters", f"at most {facts['max_length']}", None
    expect = _ASKED.get(str(item["loc"][-1])) or f"{facts['min_length']} characters or more"
    return _of(item, "is too short") if length else "is empty", expect, None


def _no_number(item: ErrorDetails, model: type[BaseModel]) -> Told:
    return _of(item, _NUMBER[item["type"]]), _written(model, item["loc"]), None


def _plainly(item: ErrorDetails, model: type[BaseModel]) -> Told:
    """Anything else: what must stand there, with an example."""
    path, kind = item["loc"], item["type"]
    message = _SAID.get(kind, "is not what belongs here")
    if kind == "missing" and path and isinstance(path[-1], int):
        return message, _written(model, path[:-1]), None
    example = _written(model, path)
    if example is None or example.startswith(_WHOLE):
        return message, example, None
    return message, f"something like {f'{path[-1]} = ' if kind == 'missing' else ''}{example}", None


_TELL: dict[str, Callable[[ErrorDetails, type[BaseModel]], Told]] = {
    "refused": _refused,
    "extra_forbidden": _extra,
    "literal_error": _no_choice,
    "enum": _no_choice,
    "value_error": _raised,
    "too_short": _few_or_many,
    "too_long": _few_or_many,
    "string_too_short": _short_or_long,
    "string_too_long": _short_or_long,
    **dict.fromkeys(_NUMBER, _no_number),
}


def _long_enough(item: ErrorDetails) -> bool:
    """Is a list not short at all? Only its members without a fault were counted."""
    return len(item["input"]) >= int(item["ctx"]["min_length"])


def _of(item: ErrorDetails, what: str) -> str:
    """What is wrong, after what was written where that is short."""
    given = item["input"]
    plain = isinstance(given, (str, int, float)) and not isinstance(given, bool)
    return f'"{given}" {what}' if plain and len(str(given)) <= LONGEST_SHOWN else what


# ---------------------------------------------------------------- how a field is written


def _written(model: type[BaseModel], path: Path) -> str | None:
    """How the field at a path is written: its own example, its choices, its dimension's, or its table's."""
    named = [i for i, key in enumerate(path) if isinstance(key, str)]
    if not named:
        return None
    holder, key = _model_at(model, path[: named[-1]]), path[named[-1]]
    field = next((f for n, f in holder.model_fields.items() if key in {n, f.alias}), None)
    if field is None:  # a name that the plan gives itself, inside a table of such names
        return _table(_model_at(model, path))
    member = _one(field) if named[-1] < len(path) - 1 else None
    return member or _example(field) or _ASKED.get(str(key))


def _example(field: FieldInfo) -> str | None:
    if field.examples:
        return str(field.examples[0])
    one, bare = _one(field), _bare(field.annotation)
    if typing.get_origin(bare) is not tuple:
        return one
    if one is not None and one.startswith(_WHOLE):
        return f"a list in [ ], each {one}"
    return "[" + (one or '"...", "..."').partition(" or ")[0] + "]"


def _one(field: FieldInfo) -> str | None:
    """How the one value of a field, or one of its list, is written."""
    if choices := _choices(field.annotation):
        return " or ".join(f'"{c}"' for c in choices)
    if dimensions := dimensions_of(field):
        return " or ".join(map(units.expected, dimensions))
    if number := {int: "a whole number", float: "a number"}.get(_bare(field.annotation)):
        return number + _bounds(field)
    return next((_table(inner) for inner in _models_in(field.annotation)), None)


def _choices(annotation: Any) -> tuple[str, ...]:
    inner = [annotation, *typing.get_args(annotation)]
    enums = (tuple(a) for a in inner if isinstance(a, type) and issubclass(a, enum.StrEnum))
    return next((typing.get_args(a) for a in inner if typing.get_origin(a) is Literal), ()) or next(enums, ())


def _bare(annotation: Any) -> Any:
    """What an annotation allows beside None."""
    inner = [a for a in typing.get_args(annotation) if a is not type(None)]
    return inner[0] if isinstance(annotation, types.UnionType) and len(inner) == 1 else annotation


def _bounds(field: FieldInfo) -> str:
    """The bounds of a number, as a person says them."""
    low, over, high, under = (
        next((getattr(m, which) for m in field.metadata if hasattr(m, which)), None)
        for which in ("ge", "gt", "le", "lt")
    )
    if low is not None and high is not None:
        return f" from {low} to {high}"
    said = {"of {} or more": low, "over {}": over, "of {} or less": high, "under {}": under}
    told = " and ".join(how.format(bound) for how, bound in said.items() if bound is not None)
    return f" {told}" if told else ""


def _table(model: type[BaseModel]) -> str | None:
    """How a table is written: its own example, or the keys that it must have."""
    if not issubclass(model, Part):
        return None
    needed = [field.alias or name for name, field in model.model_fields.items() if field.is_required()]
    return "{ " + ", ".join(f"{key} = ..." for key in needed) + " }" if model.example == Part.example else model.example


def dotted(path: Path) -> str | None:
    """A path as a person reads it: `points.flow[2]`, counted from one."""
    text = "".join(f"[{key + 1}]" if isinstance(key, int) else f".{key}" for key in path)
    return text.removeprefix(".") or None


def _models_in(annotation: Any) -> Iterator[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
    elif typing.get_origin(annotation) is not Literal or isinstance(annotation, types.UnionType):
        for inner in typing.get_args(annotation):
            yield from _models_in(inner)


def _model_at(model: type[BaseModel], path: Path) -> type[BaseModel]:
    among = [model]
    for key in path:
        # Where a field may be one of several models, the path names the one that was tried.
        named = [m for m in among if m.__name__ == key]
        field = next((f for n, f in among[0].model_fields.items() if key in {n, f.alias}), None)
        among = named or (list(_models_in(field.annotation)) if field else []) or among
    return among[0]


def _inner_models(model: type[BaseModel], seen: set[type[BaseModel]]) -> set[type[BaseModel]]:
    for info in model.model_fields.values():
        for inner in _models_in(info.annotation):
            if inner not in seen:
                seen.add(inner)
                _inner_models(inner, seen)
    return seen
