"""Typed fields of a file that a person wrote: each reads its text by the one grammar of quantities."""

from __future__ import annotations

import re
import types
import typing
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, ValidationError
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from catalogs import units
from catalogs.errors import Fault, QuantityError, nearest
from catalogs.units import Quantity

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from pydantic import GetCoreSchemaHandler


def refuse(reason: str, *, expected: str | None = None, nearest_word: str | None = None) -> PydanticCustomError:
    """The error that a validator raises, with the facts that a `Fault` shows."""
    return PydanticCustomError("refused", "{reason}", {"reason": reason, "expected": expected, "nearest": nearest_word})


@dataclass(frozen=True)
class Dim:
    """Reads one quantity of the named dimensions.

    The value is a float in SI; with several dimensions, or for a pressure, it is a `Quantity`.
    """

    dimensions: tuple[str, ...]

    def __get_pydantic_core_schema__(self, _source: Any, _handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(self.read)

    def read(self, text: object) -> float | Quantity:
        if isinstance(text, Quantity):
            return text
        try:
            quantity = units.read(text, *self.dimensions)
        except QuantityError as error:
            raise refuse(str(error), expected=error.expected, nearest_word=error.nearest) from None
        return quantity if self.keeps_quantity else quantity.value

    @property
    def keeps_quantity(self) -> bool:
        return len(self.dimensions) > 1 or self.dimensions == ("pressure",)


def _read_point(text: object) -> tuple[float, float, float]:
    try:
        return units.read_vector(text)
    except QuantityError as error:
        raise refuse(str(error), expected=error.expected, nearest_word=error.nearest) from None


class _PointReader:
    def __get_pydantic_core_schema__(self, _source: Any, _handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(_read_point)


Length = Annotated[float, Dim(("length",))]
Bore = Annotated[float, Dim(("bore",))]
Volume = Annotated[float, Dim(("volume",))]
Angle = Annotated[float, Dim(("angle",))]
Slope = Annotated[float, Dim(("slope",))]
Acceleration = Annotated[float, Dim(("acceleration",))]
Time = Annotated[float, Dim(("time",))]
Pressure = Annotated[Quantity, Dim(("pressure",))]
PressureDrop = Annotated[float, Dim(("pressure_drop",))]
Modulus = Annotated[float, Dim(("modulus",))]
Temperature = Annotated[float, Dim(("temperature",))]
Flow = Annotated[Quantity, Dim(("volume_flow", "mass_flow"))]
VolumeFlow = Annotated[float, Dim(("volume_flow",))]
MassFlow = Annotated[float, Dim(("mass_flow",))]
Power = Annotated[float, Dim(("power",))]
Bsfc = Annotated[float, Dim(("bsfc",))]
Speed = Annotated[float, Dim(("speed",))]
Velocity = Annotated[float, Dim(("velocity",))]
Voltage = Annotated[float, Dim(("voltage",))]
Density = Annotated[float, Dim(("density",))]
Viscosity = Annotated[Quantity, Dim(("kinematic_viscosity", "dynamic_viscosity"))]
HeatCapacity = Annotated[float, Dim(("heat_capacity",))]
Conductivity = Annotated[float, Dim(("conductivity",))]
Expansion = Annotated[float, Dim(("expansion",))]
Ratio = Annotated[float, Dim(("ratio",))]
Number = Annotated[float, Dim(("number",))]
Price = Annotated[float, Dim(("price",))]
Point = Annotated[tuple[float, float, float], _PointReader()]


class Part(BaseModel):
    """A table of a person's file. Unknown keys are faults; a record never changes."""

    model_config = ConfigDict(
        extra="forbid", frozen=True, populate_by_name=True, arbitrary_types_allowed=True, strict=False
    )


def keys_of(model: type[BaseModel]) -> list[str]:
    """The keys as a person writes them."""
    return [field.alias or name for name, field in model.model_fields.items()]


def _models_in(annotation: Any) -> Iterator[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
    elif typing.get_origin(annotation) is not Literal or isinstance(annotation, types.UnionType):
        for inner in typing.get_args(annotation):
            yield from _models_in(inner)


def _model_at(model: type[BaseModel], path: tuple[int | str, ...]) -> type[BaseModel]:
    among = [model]
    for key in path:
        # Where a field may be one of several models, the path names the one that was tried.
        named = [m for m in among if m.__name__ == key]
        field = next((f for n, f in among[0].model_fields.items() if key in {n, f.alias}), None)
        among = named or (list(_models_in(field.annotation)) if field else []) or among
    return among[0]


_WORDS = {
    "missing": "is missing",
    "string_type": "must be text in quotes",
    "bool_type": "must be true or false",
    "bool_parsing": "must be true or false",
    "int_type": "must be a whole number",
    "int_parsing": "must be a whole number",
    "list_type": "must be a list in [ ]",
    "dict_type": "must be a table",
    "model_type": "must be a table, like { ... }",
    "model_attributes_type": "must be a table, like { ... }",
    "mapping_type": "must be a table",
    "string_pattern_mismatch": "has characters that cannot be printed",
}


def faults_of(
    error: ValidationError,
    model: type[BaseModel],
    place: Callable[[tuple[int | str, ...]], dict[str, Any]],
) -> list[Fault]:
    """The faults that a validation found, in our words.

    Args:
        error: what pydantic found.
        model: the model that was read.
        place: file, line, table and key of a path inside the model's table.
    """
    faults, items = [], error.errors(include_url=False)
    holders = {item["loc"][:-1] for item in items}
    tried = {inner.__name__ for inner in _inner_models(model, set())}
    for item in items:
        path, facts, kind = item["loc"], item.get("ctx", {}), item["type"]
        if kind == "too_short" and path in holders:  # only because what it holds is at fault
            continue
        expect, near = facts.get("expected"), facts.get("nearest")
        if kind == "refused":
            message = str(facts["reason"])
        elif kind == "extra_forbidden":
            valid = keys_of(_model_at(model, path[:-1]))
            message, expect = "is no key here", "one of " + ", ".join(valid)
            near = nearest(str(path[-1]), valid)
        elif kind == "literal_error":
            message, expect = f'"{item["input"]}" is none of the choices', str(expect).replace("'", '"')
            near = nearest(str(item["input"]), [w.strip('" ') for w in expect.replace(" or ", ",").split(",")])
        else:
            message = _WORDS.get(kind) or re.sub(r"^\w+ should ", "must ", item["msg"])
        # Where a field may be one of several models, pydantic names the one it tried.
        written = tuple(key for key in path if key not in tried)
        faults.append(Fault(message=message, expected=expect, nearest=near, **place(written)))
    return faults


def dotted(path: tuple[int | str, ...]) -> str | None:
    """A path as a person reads it: `points.flow[2]`, counted from one."""
    text = "".join(f"[{key + 1}]" if isinstance(key, int) else f".{key}" for key in path)
    return text.removeprefix(".") or None


def _inner_models(model: type[BaseModel], seen: set[type[BaseModel]]) -> set[type[BaseModel]]:
    for info in model.model_fields.values():
        for inner in _models_in(info.annotation):
            if inner not in seen:
                seen.add(inner)
                _inner_models(inner, seen)
    return seen
