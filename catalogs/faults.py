"""Faults in our words for what a validation found, each with an example of what belongs there."""

from __future__ import annotations

import re
import types
import typing
from typing import TYPE_CHECKING, Any, Literal

from pydantic import BaseModel, ValidationError

from catalogs import units, words
from catalogs.errors import Fault
from catalogs.fields import Part, dimensions_of

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from pydantic.fields import FieldInfo
    from pydantic_core import ErrorDetails

Path = tuple[int | str, ...]

_SAID = {
    "missing": "is missing",
    "string_type": "must be text in quotes",
    "bool_type": "must be true or false",
    "bool_parsing": "must be true or false",
    "int_type": "must be a whole number",
    "int_parsing": "must be a whole number",
    "list_type": "must be a list in [ ]",
    "tuple_type": "must be a list in [ ]",
    "dict_type": "must be a table",
    "model_type": "must be a table",
    "model_attributes_type": "must be a table",
    "mapping_type": "must be a table",
    "string_pattern_mismatch": "has characters that cannot be printed",
}


def keys_of(model: type[BaseModel]) -> list[str]:
    """The keys as a person writes them."""
    return [field.alias or name for name, field in model.model_fields.items() if not field.exclude]


def faults_of(error: ValidationError, model: type[BaseModel], place: Callable[[Path], dict[str, Any]]) -> list[Fault]:
    """The faults that a validation found, in our words.

    Args:
        error: what pydantic found.
        model: the model that was read.
        place: file, line, table and key of a path inside the model's table.
    """
    items = error.errors(include_url=False)
    holders = {item["loc"][:-1] for item in items}
    tried = {inner.__name__ for inner in _inner_models(model, set())}
    faults, misspelt = [], set()
    for item in sorted(items, key=lambda i: i["type"] != "extra_forbidden"):
        path, kind = item["loc"], item["type"]
        # Only because what it holds is at fault, or because its own key is misspelt.
        if (kind == "too_short" and path in holders) or (kind == "missing" and path in misspelt):
            continue
        message, expect, near = _told(item, model)
        if kind == "extra_forbidden" and near is not None:
            misspelt.add((*path[:-1], near))
        at = item.get("ctx", {}).get("at")
        # Where a field may be one of several models, pydantic names the one it tried.
        written = tuple(key for key in path if key not in tried) + ((at,) if at else ())
        faults.append(Fault(message=message, expected=expect, nearest=near, **place(written)))
    return faults


def _told(item: ErrorDetails, model: type[BaseModel]) -> tuple[str, str | None, str | None]:
    """What is wrong, what was expected, and the nearest valid word."""
    path, facts, kind = item["loc"], item.get("ctx", {}), item["type"]
    last = str(path[-1]) if path else ""
    if kind == "refused":
        return str(facts["reason"]), facts.get("expected"), facts.get("nearest")
    if kind == "extra_forbidden":
        valid = keys_of(_model_at(model, path[:-1]))
        expect = words.offer("key", last, valid) or "one of " + ", ".join(valid)
        return "is no key here", expect, words.near("key", last, valid)
    if kind == "literal_error":
        valid = [w.strip("' ") for w in re.split(r",| or ", str(facts["expected"]))]
        expect = " or ".join(", ".join(f'"{w}"' for w in valid).rsplit(", ", 1))
        return f'"{item["input"]}" is none of the choices', expect, words.near(last, str(item["input"]), valid)
    if kind == "missing" and path and isinstance(path[-1], int):
        return "is missing", _written(model, path[:-1]), None
    example = _written(model, path) if kind in _SAID else None
    if example and kind == "missing" and not example.startswith(("a ", "an ", "three ")):
        example = f"{last} = {example}"
    if example and not example.startswith(("a ", "an ", "three ")):
        example = f"something like {example}"
    return _SAID.get(kind) or re.sub(r"^\w+ should ", "must ", item["msg"]), example, None


def _written(model: type[BaseModel], path: Path) -> str | None:
    """How the field at a path is written: its own example, its choices, its dimension's, or its table's."""
    named = [i for i, key in enumerate(path) if isinstance(key, str)]
    if not named:
        return None
    holder, key = _model_at(model, path[: named[-1]]), path[named[-1]]
    field = next((f for n, f in holder.model_fields.items() if key in {n, f.alias}), None)
    if field is None:  # a name that the plan gives itself, inside a table of such names
        inner = _model_at(model, path)
        return inner.example if issubclass(inner, Part) else None
    return _example(field)


def _example(field: FieldInfo) -> str | None:
    if field.examples:
        return str(field.examples[0])
    if choices := _choices(field.annotation):
        return " or ".join(f'"{c}"' for c in choices)
    if dimensions := dimensions_of(field):
        return " or ".join(map(units.expected, dimensions))
    inner = next(_models_in(field.annotation), None)
    return inner.example if inner is not None and issubclass(inner, Part) else None


def _choices(annotation: Any) -> tuple[str, ...]:
    inner = [annotation, *typing.get_args(annotation)]
    return next((typing.get_args(a) for a in inner if typing.get_origin(a) is Literal), ())


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
