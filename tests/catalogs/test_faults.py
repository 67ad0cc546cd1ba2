"""Every sort of error that reading may find, in our words: no word of the library that reads comes through."""

import datetime as dt
import re
from typing import Annotated, Literal

import pytest
from pydantic import Discriminator, Field, Tag, ValidationError, field_validator

from catalogs import units
from catalogs.catalog import Catalog
from catalogs.faults import _inner_models, dotted, faults_of
from catalogs.fields import Part
from catalogs.tables import TABLES
from lines.measured import PointRow
from lines.plan import CircuitTable, DutyTable, PlanTable, PositionTable, RunTable, component_model
from lines.states import AttitudeTable
from lines.zones import ZoneTable

CATALOG = Catalog()
GRADES = '"measured" or "standard" or "published" or "practice" or "memory" or "illustrative"'
FAMILIES = '"gasoline", "ethanol-blend", "ethanol-high", "alcohol", "diesel", "oil", "atf", "coolant", "brake" or "gas"'
READ = [
    *TABLES.values(),
    *(CircuitTable, DutyTable, PlanTable, PositionTable, RunTable, AttitudeTable, ZoneTable, PointRow),
    *(component_model(CATALOG.kind(key)) for key in CATALOG.ids("kinds")),
]
MODELS = list({inner: None for model in READ for inner in [model, *_inner_models(model, set())]})
WRONG = [
    *("", "x", "?", "-1", "6.5", "600", "x" * 300, "9" * 4_400, "\x1b[2J", "a\nb"),
    *(0, 5, -5, 6.5, 1e400, -1e400, float("nan"), 10**30, True, None),
    *(dt.date(2024, 1, 1), dt.time(1), dt.datetime(2024, 1, 1, tzinfo=dt.UTC)),
    *([], [1], ["x"], ["x"] * 300, [[]], [{}], [{"a": 1}]),
    *({}, {"a": 1}, {"a": {"b": 1}}, {str(n): {} for n in range(41)}),
]
RAISED = {
    *("missing", "extra_forbidden", "refused", "enum", "literal_error", "dict_type", "model_type"),
    *("string_type", "string_too_short", "string_too_long", "string_pattern_mismatch"),
    *("bool_type", "bool_parsing", "tuple_type", "too_short", "too_long"),
    *("int_type", "int_parsing", "int_parsing_size", "int_from_float", "finite_number", "float_type", "float_parsing"),
    *("greater_than", "greater_than_equal", "less_than_equal"),
}
"""What the records and the tables of a plan raise."""
LIBRARY = re.compile(
    r"\bshould\b|validation|\binput\b|\bitems?\b|\bvalid\b|instance|permitted|required|\bparse|pars(e|ing)\b|"
    r"\bvalue error\b|\btuple\b|\bdictionary\b|\binteger\b|\bstring\b|\bboolean\b|(?-i:\bNone\b|\bTrue\b)|'",
    re.IGNORECASE,
)


def place(path):
    return {"file": "a.toml", "key": dotted(path)}


def found(model, raw):
    """The sorts of error, and the faults."""
    with pytest.raises(ValidationError) as caught:
        model.model_validate(raw, context={"duties": ["idle"]})
    sorts = {item["type"] for item in caught.value.errors(include_url=False)}
    return sorts, faults_of(caught.value, model, place)


def wrong(model):
    """What a validation of each field with each wrong thing in it finds, where it finds anything."""
    tried = [{}, {"zzz": 1}, *({f.alias or n: thing} for n, f in model.model_fields.items() for thing in WRONG)]
    for raw in tried:
        try:
            model.model_validate(raw, context={"duties": ["idle"]})
        except ValidationError as error:
            yield {item["type"] for item in error.errors(include_url=False)}, faults_of(error, model, place)


def test_each_sort_of_error_happens_and_none_is_told_in_the_words_of_the_library():
    seen = set()
    for model in MODELS:
        for sorts, faults in wrong(model):
            seen |= sorts
            for fault in faults:
                # A person's own text may be said again, and no more of it than a line.
                told = re.sub(r'"[^"]*"', '""', f"{fault.message}; {fault.expected or ''}").replace("o'clock", "")
                assert not LIBRARY.search(told), f"{model.__name__}: {fault}"
                assert len(fault.message) < 200, fault.message[:300]
    # `origins`, which no person writes, is a dataclass.
    assert seen - {"dataclass_type", "unexpected_keyword_argument"} == RAISED


CURVE = {"id": "p", "means": "invented", "source": "invented", "grade": "measured"}
ROW = {"volts": "12 V", "rise": "0 psi", "flow": "9 gph"}
PROPERTY = {"at": ["20 C"], "is": ["800 kg/m3"], "source": "invented", "grade": "measured"}


@pytest.mark.parametrize(
    ("table", "raw", "key", "message", "expected", "nearest"),
    [
        ("seats", {"source": ""}, "source", "is empty", 'where its figures are from, like "data sheet"', None),
        ("seats", {"source": "?"}, "source", '"?" is too short', 'where its figures are from, like "data sheet"', None),
        (
            "seats",
            {"grade": "mesured"},
            "grade",
            '"mesured" is none of the choices',
            '"measured", "standard", "published", "practice", "memory" or "illustrative"',
            "measured",
        ),
        ("seats", {"mates": "x"}, "mates", "must be a list in [ ]", 'something like ["...", "..."]', None),
        ("stock", {"dash": "600"}, "dash", '"600" is more than can be', "a whole number from 1 to 48", None),
        ("stock", {"dash": 0}, "dash", '"0" is less than can be', "a whole number from 1 to 48", None),
        ("stock", {"dash": "6.5"}, "dash", '"6.5" is no whole number', "a whole number from 1 to 48", None),
        ("stock", {"dash": 6.5}, "dash", '"6.5" is no whole number', "a whole number from 1 to 48", None),
        ("stock", {"dash": []}, "dash", "is no whole number", "a whole number from 1 to 48", None),
        (
            "stock",
            {"dash": "9" * 4_400},
            "dash",
            "is no number of a sensible size",
            "a whole number from 1 to 48",
            None,
        ),
        ("threads", {"dash": "0"}, "dash", '"0" is less than can be', "a whole number of 1 or more", None),
        ("stock", {"rigid": "maybe"}, "rigid", "must be true or false", None, None),
        ("stock", {"radius_to": ["inside"]}, "radius_to", "must be text in quotes", '"inside" or "centreline"', None),
        ("stock", {"serves": 5}, "serves", "must be a list in [ ]", 'something like ["gasoline"]', None),
        (
            "stock",
            {"serves": "oil; gasolin"},
            "serves[2]",
            '"gasolin" is none of the choices',
            FAMILIES,
            "gasoline",
        ),
        ("curves", {"points": [ROW, ROW]}, "points", "2 are too few", "3 or more", None),
        ("curves", {"points": [ROW]}, "points", "1 is too few", "3 or more", None),
        (
            "curves",
            {"points": []},
            "points",
            "is empty",
            '[{ volts = "13.5 V", rise = "40 psi", flow = "250 L/h" }]',
            None,
        ),
        ("curves", {"points": [ROW] * 201}, "points", "201 are too many", "at most 200", None),
        (
            "curves",
            {"points": [5, ROW, ROW]},
            "points[1]",
            "must be a table",
            'something like { volts = "13.5 V", rise = "40 psi", flow = "250 L/h" }',
            None,
        ),
        (
            "fluids",
            {"density": 5},
            "density",
            "must be a table",
            "something like { at = ..., is = ..., source = ..., grade = ... }",
            None,
        ),
        (
            "fluids",
            {"density": {k: v for k, v in PROPERTY.items() if k != "at"}},
            "density.at",
            "is missing",
            "a list in [ ], each a temperature, like 110 F or 43 C",
            None,
        ),
        (
            "fluids",
            {"density": PROPERTY | {"source": "?"}},
            "density.source",
            '"?" is too short',
            'where its figures are from, like "data sheet"',
            None,
        ),
        (
            "fluids",
            {"vapour": {k: v for k, v in PROPERTY.items() if k != "grade"} | {"is": ["2 psi"]}},
            "vapour.grade",
            "is missing",
            f"something like grade = {GRADES}",
            None,
        ),
    ],
)
def test_what_is_wrong_in_a_table_is_told_with_what_belongs_there(table, raw, key, message, expected, nearest):
    _, faults = found(TABLES[table], raw)
    told = [(f.key, f.message, f.expected, f.nearest) for f in faults if (f.key or "").startswith(next(iter(raw)))]
    assert told == [(key, message, expected, nearest)]


def test_what_is_too_long_is_not_said_again():
    _, faults = found(PlanTable, {"title": "x" * 201, "units": "m" * 41})
    told = {f.key: (f.message, f.expected) for f in faults}
    assert told["title"] == ("has 201 characters", "at most 200")
    assert told["units"] == ("is none of the choices", '"us" or "metric"')


def test_a_list_whose_members_are_at_fault_is_not_short():
    # Three points and each without its flow: nothing is too few.
    bad = {k: v for k, v in ROW.items() if k != "flow"}
    _, faults = found(TABLES["curves"], CURVE | {"points": [bad] * 3})
    assert [(f.key, f.message) for f in faults] == [(f"points[{n}].flow", "is missing") for n in (1, 2, 3)]
    # Two of them are, and that is told beside.
    _, faults = found(TABLES["curves"], CURVE | {"points": [bad] * 2})
    assert ("points", "2 are too few") in [(f.key, f.message) for f in faults]


class Cat(Part):
    """One of two tables."""

    form: Literal["cat"]


class Dog(Part):
    """The other."""

    form: Literal["dog"]


class Every(Part):
    """Fields of sorts that no table has yet."""

    share: Annotated[float, Field(ge=0)] = 0.0
    age: Annotated[float, Field(gt=0, lt=30)] = 1.0
    count: int | None = None
    animal: Annotated[Cat | Dog, Field(discriminator="form")] | None = None
    chosen: Annotated[Annotated[Cat, Tag("c")] | Annotated[Dog, Tag("d")], Discriminator(lambda _: None)] | None = None
    when: dt.date | None = None
    length: str = ""
    plain: str = ""

    @field_validator("length")
    @classmethod
    def _of_ours(cls, text):
        return str(units.read(text, "length").value)

    @field_validator("plain")
    @classmethod
    def _of_python(cls, text):
        return str(float(text))


@pytest.mark.parametrize(
    ("raw", "sort", "message", "expected"),
    [
        ({"share": "much"}, "float_parsing", '"much" is no number', "a number of 0 or more"),
        ({"share": []}, "float_type", "is no number", "a number of 0 or more"),
        ({"share": -1}, "greater_than_equal", '"-1" is less than can be', "a number of 0 or more"),
        ({"count": "x"}, "int_parsing", '"x" is no whole number', "a whole number"),
        (
            {"age": 30},
            "less_than",
            '"30" is more than can be',
            "a number over 0 and under 30",
        ),
        (
            {"animal": {"form": "cow"}},
            "union_tag_invalid",
            "is none of the tables that may stand here",
            "something like { form = ... }",
        ),
        (
            {"animal": {}},
            "union_tag_not_found",
            "is none of the tables that may stand here",
            "something like { form = ... }",
        ),
        (
            {"chosen": {}},
            "union_tag_not_found",
            "is none of the tables that may stand here",
            "something like { form = ... }",
        ),
        (
            {"length": "5 pis"},
            "value_error",
            '"pis" is no unit here',
            "a length, like 14 5/8 in, 11 ft 3 in or 372 mm",
        ),
        # Python's own words are no more a person's than the library's.
        ({"plain": "x"}, "value_error", "is not what belongs here", None),
        ({"when": "soon"}, "date_from_datetime_parsing", "is not what belongs here", None),
    ],
)
def test_a_sort_that_no_table_raises_yet_has_its_words_too(raw, sort, message, expected):
    sorts, (fault,) = found(Every, raw)
    assert sorts == {sort}
    assert (fault.message, fault.expected) == (message, expected)
