"""The one reader of tables: CSV as spreadsheets write it, a shop's folder laid over ours, every fault told.

The figures of the shop in these tests are invented.
"""

import math
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from strategies import hostile_texts

from catalogs.catalog import Catalog
from catalogs.csvfile import LONGEST_CELL, MOST_ROWS
from catalogs.errors import TableError
from catalogs.grades import Grade
from catalogs.records import Origin
from catalogs.tables import TABLES, read_row, read_table

INCH = 0.0254
PSI = 0.45359237 * 9.80665 / INCH**2

STOCK = """\
# invented for this test
id,family,dash,means,liner,outside,bore,working_pressure,coldest,hottest,bend_radius,radius_to,roughness,source,grade
,,,,,in,in,psi,F,F,in,,um,,
test -6,test,6,"a hose, invented",ptfe,0.50,5/16,2500,-65,400,4,inside,3,invented,illustrative
"""
ENDS = "id,like,cutoff,part,source,grade\n,,in,,,\n"
OURS = "ptfe-braid -8"
OUR_END = "ptfe-braid -8 straight"


@pytest.fixture
def table(tmp_path):
    def table(text, name="stock.csv"):
        path = tmp_path / name
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return read_table(path, name)

    return table


@pytest.fixture
def faults(table):
    def faults(text, name="stock.csv"):
        with pytest.raises(TableError) as caught:
            table(text, name)
        return caught.value.faults

    return faults


@pytest.fixture
def shop(tmp_path):
    def shop(**files):
        for name, text in files.items():
            (tmp_path / name.replace("__", ".")).write_text(text, encoding="utf-8")
        return Catalog(tmp_path)

    return shop


@pytest.fixture
def shop_faults(shop):
    def shop_faults(**files):
        with pytest.raises(TableError) as caught:
            shop(**files)
        return caught.value.faults

    return shop_faults


# How a table is laid out.


def test_a_row_of_units_stands_under_the_names(table):
    rows = table(STOCK)
    stock = read_row("test -6", rows["test -6"], TABLES["stock"])
    assert (stock.bore, stock.outside) == pytest.approx((0.3125 * INCH, 0.5 * INCH))
    assert stock.working_pressure == pytest.approx(2500 * PSI)
    # 400 F = (400 + 459.67)/1.8 K
    assert stock.hottest == pytest.approx(859.67 / 1.8)
    assert (stock.dash, stock.means, stock.grade) == (6, "a hose, invented", Grade.ILLUSTRATIVE)


def test_a_cell_may_bring_its_own_unit(table):
    rows = table(STOCK.replace(",5/16,", ",8 mm,"))
    assert read_row("test -6", rows["test -6"], TABLES["stock"]).bore == pytest.approx(0.008)


def _semicolons(text):
    return text.replace('"a hose, invented"', "a hose").replace(",", ";").replace("0.50", "0,50")


@pytest.mark.parametrize("newline", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_semicolons_decimal_commas_and_a_byte_order_mark_are_accepted(table, newline, mark):
    rows = table(mark + _semicolons(STOCK).replace("\n", newline))
    stock = read_row("test -6", rows["test -6"], TABLES["stock"])
    assert (stock.outside, stock.bore) == pytest.approx((0.5 * INCH, 0.3125 * INCH))


def test_a_decimal_comma_between_commas_is_refused_not_guessed(table):
    rows = table(STOCK.replace("0.50", '"0,50"'))
    with pytest.raises(TableError, match="write a point"):
        read_row("test -6", rows["test -6"], TABLES["stock"])


def test_comments_empty_lines_and_empty_cells_count_for_nothing(table):
    text = STOCK.replace("test -6,", "\n  # a comment, with a comma\n\ntest -6,") + ",,,\n\n"
    with pytest.raises(TableError, match="line 8 id: is missing"):
        table(text)
    assert list(table(text.replace(",,,\n", "   \n"))) == ["test -6"]


def test_columns_that_a_spreadsheet_leaves_empty_are_dropped(table):
    rows = table("\n".join(line + ",,," for line in STOCK.splitlines()[1:]))
    assert read_row("test -6", rows["test -6"], TABLES["stock"]).dash == 6


def test_a_line_separator_in_a_cell_is_no_line(table, faults):
    assert list(table(STOCK.replace("a hose", "a\u2028hose\u0085"))) == ["test -6"]
    (fault,) = faults(STOCK.replace("a hose", "a\u2028hose") + "x" * 501 + "\n")
    assert fault.line == 5


@pytest.mark.parametrize(
    ("text", "line", "words"),
    [
        ("", None, "row of names and row of units"),
        ("id,bore\n", None, "row of names and row of units"),
        ("name,bore\n,in\nx,1\n", 1, 'no column "id"'),
        ("id,bore\nx -6,0.3\nx -8,0.4\n", 2, "row of units"),
        ("# one\nid,bore,bore\n,in,in\nx,1,2\n", 2, "two columns have this name"),
        ("id,bore\n,in\nx,1,2\n", 3, "a cell in column 3 (C in a spreadsheet), and the names end at column 2 (B)"),
        ("id,,bore\n,,in\nx,8,1\n", 1, "column 2 (B in a spreadsheet) has no name, and 1 filled cell under it"),
        ("# ours\nid,,\n,,in\nx,,1\ny,,2\n", 2, "column 3 (C in a spreadsheet) has no name, and 2 filled cells"),
        ("id,bore\n,in\nx,1,2\ny,1\nz,1,2\n", 3, "the names end at column 2 (B), here and in 1 row more"),
        ("id,bore\n,in\n,1\n", 3, "is missing"),
        ('id,bore\n,in\nx,"1\ny,2\n', 3, "quotes that do not close"),
        ('id,means\n,\nx,"14" hose"\n', 3, "quotes that do not close"),
        (f"id,means\n,\nx,{'m' * (LONGEST_CELL + 1)}\n", 3, "longer than 500 characters"),
        (f"id,means\n,\n{'m' * (LONGEST_CELL + 1)},x\n", 3, "longer than 500 characters"),
        ("id,bore\n,in\n" + "x,1\n" * MOST_ROWS, None, "more than 5,000 rows"),
        (b"id,bore\n,in\n\xe9,1\n", 3, "not UTF-8"),
        ("id,bore\n,in\nx,1\n".encode("utf-16"), 1, "UTF-16"),
    ],
)
def test_a_table_that_is_laid_out_wrongly_is_refused(faults, text, line, words):
    (fault,) = faults(text)
    assert words in fault.message
    assert (fault.file, fault.line) == ("stock.csv", line)


def test_all_faults_of_the_layout_come_together(faults):
    found = faults("id,bore\n,in\nx,1,2\n,1\n" + "y" * 501 + ",1\nz,1\n")
    assert [fault.line for fault in found] == [3, 4, 5]


def test_an_id_in_two_rows_is_a_fault(table):
    rows = table(STOCK + STOCK.splitlines()[-1] + "\n")
    with pytest.raises(TableError, match="stands in two rows"):
        read_row("test -6", rows["test -6"], TABLES["stock"])


def test_toml_rows_are_tables(faults):
    (fault,) = faults('bore = "0.3 in"\n', "stock.toml")
    assert (fault.line, fault.key, fault.message) == (1, "bore", "stands outside a row")


def test_toml_keys_that_the_reader_uses_itself_are_refused(table):
    for key in ('"..."', "origins", "id", "more"):
        rows = table(f"[x]\n{key} = 'a'\n", "curves.toml")
        with pytest.raises(TableError, match="is no key here"):
            read_row("x", rows["x"], TABLES["curves"])


def test_one_figure_may_state_its_own_grade(table):
    text = STOCK.replace(",grade\n", ",grade,grade.bore,source.bore\n").replace(
        ",illustrative\n", ",illustrative,measured,calliper\n"
    )
    stock = read_row("test -6", table(text)["test -6"], TABLES["stock"])
    assert stock.origin("bore") == Origin(Grade.MEASURED, "calliper")
    assert stock.origin("outside") == Origin(Grade.ILLUSTRATIVE, "invented")
    assert stock.grade_of("bore", "outside") == Grade.ILLUSTRATIVE
    assert stock.grade_of("bore") == Grade.MEASURED


@pytest.mark.parametrize(
    ("column", "cell", "words"),
    [("grade.bore", "sure", "is no grade"), ("grade.boar", "measured", "is no key here")],
)
def test_a_grade_of_nothing_and_a_grade_unknown_are_refused(table, column, cell, words):
    text = STOCK.replace(",grade\n", f",grade,{column}\n").replace(",illustrative\n", f",illustrative,{cell}\n")
    with pytest.raises(TableError, match=words):
        read_row("test -6", table(text)["test -6"], TABLES["stock"])


# A pump curve stands on several rows.

CURVE = """\
id,means,volts,rise,flow,source,grade
,,V,psi,L/h,,
p,"a pump, invented",13.5,0,300,invented,illustrative
p,,13.5,40,250,,
p,,13.5,80,100,,
"""


def test_a_curve_is_gathered_from_its_rows(table):
    curve = read_row("p", table(CURVE, "curves.csv")["p"], TABLES["curves"])
    assert [point.rise for point in curve.points] == pytest.approx([0, 40 * PSI, 80 * PSI])
    assert [point.flow * 3.6e6 for point in curve.points] == pytest.approx([300, 250, 100])


@pytest.mark.parametrize(
    ("old", "new", "line", "words"),
    [
        ("40,250", "40,x", 4, "does not begin with a number"),
        ("40,250", ",250", 4, "is missing"),
        ("p,,13.5,80", "p,another,13.5,80", 5, "differs from the first row"),
        ("80,100", "80,300", 3, "not a falling one"),
        ("80,100", "80,-5", 5, "flow: is a flow under 0, backward through the pump; expected flows of 0 or more"),
        ("p,,13.5,80,100,,\n", "", 3, "points: 2 are too few; expected 3 or more"),
        ("p,,13.5,40", "p,,12,40", 3, "the curve at 12 V has only 1 point; expected 3 points or more"),
    ],
)
def test_a_fault_of_a_curve_has_the_line_of_its_point(table, old, new, line, words):
    rows = table(CURVE.replace(old, new), "curves.csv")
    with pytest.raises(TableError) as caught:
        read_row("p", rows["p"], TABLES["curves"])
    assert any(words in str(fault) and fault.line == line for fault in caught.value.faults)


DRIVEN = CURVE.replace(",volts,", ",speed,").replace(",,V,", ",,rpm,").replace("13.5", "3000")


def test_the_curve_of_a_pump_that_an_engine_drives_stands_at_a_speed(table):
    curve = read_row("p", table(DRIVEN, "curves.csv")["p"], TABLES["curves"])
    assert curve.by_speed
    assert [point.at for point in curve.points] == pytest.approx([100 * math.pi] * 3)
    assert not read_row("p", table(CURVE, "curves.csv")["p"], TABLES["curves"]).by_speed


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (DRIVEN.replace("3000,80", ",80"), "line 5, [p] volts: is missing, and so is speed; expected volts of an"),
        (DRIVEN.replace("3000", "0"), "a curve at 0 rpm"),
        (CURVE.replace("13.5", "0"), "a curve at 0 V"),
        (DRIVEN.replace("80,100", "80,300"), "the curve at 3000 rpm is not a falling one"),
    ],
)
def test_a_curve_says_how_it_is_driven(table, text, words):
    with pytest.raises(TableError) as caught:
        read_row("p", table(text, "curves.csv")["p"], TABLES["curves"])
    assert any(words in str(fault) for fault in caught.value.faults)


BOTH = """\
id,means,volts,speed,rise,flow,source,grade
,,V,rpm,psi,L/h,,
p,"a pump, invented",13.5,,0,300,invented,illustrative
p,,13.5,3000,40,250,,
p,,,3000,80,100,,
"""


def test_a_point_has_volts_or_speed_and_a_curve_the_same_at_each(table):
    with pytest.raises(TableError) as caught:
        read_row("p", table(BOTH, "curves.csv")["p"], TABLES["curves"])
    (fault,) = caught.value.faults
    assert (fault.line, fault.key, fault.message) == (4, "speed", "stands beside volts: a point has one of the two")
    with pytest.raises(TableError) as caught:
        read_row("p", table(BOTH.replace("13.5,3000", "13.5,"), "curves.csv")["p"], TABLES["curves"])
    (fault,) = caught.value.faults
    assert fault.message == "some of its points have volts and some have speed"


def test_a_negative_flow_is_no_humped_curve(table):
    with pytest.raises(TableError) as caught:
        read_row("p", table(CURVE.replace("80,100", "80,-5"), "curves.csv")["p"], TABLES["curves"])
    assert [fault.line for fault in caught.value.faults] == [5]
    assert not re.search("falling|hump", str(caught.value))


COLUMNS = "one of source, grade, note, means, volts, speed, rise, flow, like"


@pytest.mark.parametrize(
    ("header", "key", "near"),
    [
        ("rpm,rise,flow", "rpm", "speed"),
        ("RPM,rise,flow", "RPM", "speed"),
        ("pump speed,rise,flow", "pump speed", "speed"),
        ("sped,rise,flow", "sped", "speed"),
        ("speed,head,flow", "head", "rise"),
        ("speed,pressure,flow", "pressure", "rise"),
        ("speed,rise,flow rate", "flow rate", "flow"),
        ("speed,rise,lph", "lph", "flow"),
    ],
)
def test_a_column_of_a_curve_misnamed_is_told_the_nearest_and_nothing_else(shop_faults, header, key, near):
    # The speeds differ from row to row, as they do in a table of several curves.
    rows = "".join(f"p,,{n},{p},{q},,\n" for n in (3000, 4000) for p, q in ((0, 300), (40, 250), (80, 100)))
    text = f"id,means,{header},source,grade\n,,rpm,psi,L/h,,\n{rows}"
    (fault,) = shop_faults(curves__csv=text.replace("p,,3000,0,300,,", "p,a pump,3000,0,300,bench,measured"))
    told = (fault.line, fault.table, fault.key, fault.message, fault.expected, fault.nearest)
    assert told == (3, "p", key, "is no column of this table", COLUMNS, near)


def test_a_voltage_is_volts_and_its_figures_are_read_all_the_same(shop_faults):
    found = shop_faults(curves__csv=CURVE.replace("volts", "voltage").replace("80,100", "80,x"))
    assert [(f.line, f.key, f.nearest) for f in found] == [(3, "voltage", "volts"), (5, "flow", None)]


def test_what_a_curve_lacks_in_every_row_is_told_once(shop_faults):
    found = shop_faults(curves__csv=CURVE.replace("volts", "zzz").replace(",,V", ",,"))
    assert [(f.line, f.key, f.message) for f in found] == [
        (3, "volts", "is missing, and so is speed, here and in 2 rows more"),
        (3, "zzz", "is no column of this table"),
    ]
    points = ", ".join(f'{{ rise = "{p} psi", flow = "{q} L/h" }}' for p, q in ((0, 300), (40, 250), (80, 100)))
    toml = f'[p]\nmeans = "a pump"\nsource = "bench"\ngrade = "measured"\npoints = [{points}]\n'
    (fault,) = (f for f in shop_faults(curves__toml=toml) if f.file.endswith("toml"))
    assert (fault.line, fault.key) == (5, "points[1].volts")
    assert fault.message == "is missing, and so is speed, here and in 2 places more"


def test_the_one_row_of_a_curve_by_speed_is_its_point(shop_faults):
    one = "\n".join(DRIVEN.splitlines()[:3]) + "\n"
    (fault,) = shop_faults(curves__csv=one)
    assert (fault.key, fault.message) == ("points", "1 is too few")


def test_of_a_humped_curve_the_steady_branch_is_asked_for(table):
    rows = table(CURVE.replace("0,300", "60,20"), "curves.csv")
    with pytest.raises(TableError) as caught:
        read_row("p", rows["p"], TABLES["curves"])
    assert any("far side of its highest rise" in str(fault) for fault in caught.value.faults)


# A shop's folder laid over ours.


def test_the_same_id_overrides_what_it_states_and_nothing_else(shop):
    ours, row = Catalog().end(OUR_END), f"{OUR_END},,0.912,A-8,measured on the bench,measured\n"
    over = shop(ends__csv=ENDS + row).end(OUR_END)
    assert over.cutoff == pytest.approx(0.912 * INCH)
    assert over.part == "A-8"
    kept = {"cutoff", "part", "origins"}
    assert over.model_dump(exclude=kept) == ours.model_dump(exclude=kept)


def test_the_grade_of_the_shop_holds_only_for_what_the_shop_stated(shop):
    ours, row = Catalog().end(OUR_END), f"{OUR_END},,0.912,,measured on the bench,measured\n"
    over = shop(ends__csv=ENDS + row).end(OUR_END)
    assert over.origin("cutoff") == Origin(Grade.MEASURED, "measured on the bench")
    assert over.grade_of("cutoff") == Grade.MEASURED
    for field in ("bore", "angle", "thread"):
        assert over.origin(field) == ours.origin(field)
    assert over.grade_of("cutoff", "bore") == ours.grade_of("bore")
    assert (over.grade, over.source) == (ours.grade, ours.source)


def test_a_shop_may_grade_one_of_its_figures_apart(shop):
    text = f"id,cutoff,bore,source,grade,grade.bore\n,in,in,,,\n{OUR_END},0.912,0.4,bench,measured,memory\n"
    over = shop(ends__csv=text).end(OUR_END)
    assert (over.grade_of("cutoff"), over.grade_of("bore")) == (Grade.MEASURED, Grade.MEMORY)


@pytest.mark.parametrize(
    ("said", "key", "words"),
    [
        (",bench,", "grade", "is missing: a row over another says where its own figures come from"),
        (",,measured", "source", "is missing: a row over another says where its own figures come from"),
        (",bench,certain", "grade", '"certain" is no grade'),
    ],
)
def test_a_row_over_ours_says_where_its_figures_come_from(shop_faults, said, key, words):
    (fault,) = shop_faults(ends__csv=f"{ENDS}{OUR_END},,0.9,{said}\n")
    assert (fault.message, fault.key) == (words, key)
    assert "measure" in fault.expected
    assert (fault.file, fault.line, fault.table) == ("shop/ends.csv", 3, OUR_END)


def test_a_grade_misspelt_is_told_the_nearest(shop_faults):
    (fault,) = shop_faults(ends__csv=f"{ENDS}{OUR_END},,0.9,,bench,mesured\n")
    assert (fault.message, fault.nearest) == ('"mesured" is no grade', "measured")


def test_a_fault_that_all_rows_share_is_told_once(shop_faults):
    rows = "".join(f"ptfe-braid -{dash} straight,0.9,bench,measured\n" for dash in (6, 8, 10))
    (fault,) = shop_faults(ends__csv=f"id,cut_off,source,grade\n,in,,\n{rows}")
    assert (fault.line, fault.key, fault.nearest) == (3, "cut_off", "cutoff")
    assert fault.message == "is no column of this table, here and in 2 rows more"


def test_an_id_with_a_dot_stands_in_quotes(shop_faults):
    limit = 'fail_below = "3 %"\nsource = "own trials"\ngrade = "measured"\n'
    (fault,) = shop_faults(limits__toml=f"# ours\n[run.slack]\n{limit}")
    assert (fault.line, fault.message) == (2, "an id with a dot in it stands in quotes")
    assert fault.expected == '["run.slack"]'


def test_a_misspelt_id_is_told_the_nearest(shop_faults):
    limit = 'fail_below = "3 %"\nsource = "own trials"\ngrade = "measured"\n'
    (fault,) = shop_faults(limits__toml=f'["run.slak"]\n{limit}')
    assert (fault.line, fault.nearest) == (1, "run.slack")
    assert fault.message == '"run.slak" is no row of limits yet, and as a new one it lacks means, dimension'


@pytest.mark.parametrize("part", ["slack", "slak", "Slack"])
def test_a_dotted_id_may_be_a_slip_too(shop_faults, part):
    (fault,) = shop_faults(limits__toml=f'[run.{part}]\nfail_below = "3 %"\nsource = "own"\ngrade = "measured"\n')
    assert (fault.message, fault.expected) == ("an id with a dot in it stands in quotes", '["run.slack"]')


NEW = """\
[mix]
means = "invented"
famliy = "gasoline"
flammable = true
source = "invented"
grade = "illustrative"
"""
PROPERTIES = """\
density = { at = ["15 C"], is = ["745 kg/m3"], source = "invented", grade = "illustrative" }
viscosity = { at = ["20 C"], is = ["0.5 mm2/s"], source = "invented", grade = "illustrative" }
"""


def test_a_key_misspelt_in_a_new_row_is_named_beside_what_the_row_lacks(shop_faults):
    lacks, misspelt = shop_faults(fluids__toml=NEW)
    assert lacks.message == '"mix" is no row of fluids yet, and as a new one it lacks density, viscosity'
    assert (misspelt.line, misspelt.table, misspelt.key) == (3, "mix", "famliy")
    assert (misspelt.message, misspelt.nearest) == ("is no key here", "family")
    assert misspelt.expected.startswith("one of source, grade, note, means, family, flammable, density")


def test_a_key_misspelt_is_the_one_fault_of_a_new_row_that_lacks_nothing(shop_faults):
    (fault,) = shop_faults(fluids__toml=NEW + PROPERTIES)
    assert (fault.key, fault.nearest) == ("famliy", "family")


def test_what_stands_under_a_misspelt_key_is_read_all_the_same(shop_faults):
    wrong, misspelt = shop_faults(fluids__toml=NEW.replace('"gasoline"', '"gasolin"') + PROPERTIES)
    assert (misspelt.key, misspelt.nearest) == ("famliy", "family")
    assert (wrong.line, wrong.key, wrong.nearest) == (3, "family", "gasoline")


def test_a_key_like_nothing_is_named_and_so_is_what_is_lacking(shop_faults):
    lacks, odd = shop_faults(fluids__toml=NEW.replace("famliy", "zzz") + PROPERTIES)
    assert lacks.message.endswith("it lacks family")
    assert (odd.key, odd.nearest) == ("zzz", None)


def test_a_key_misspelt_beside_the_right_one_gives_way_to_it(shop_faults):
    (fault,) = shop_faults(fluids__toml=NEW + 'family = "gasoline"\n' + PROPERTIES)
    assert (fault.line, fault.key, fault.nearest) == (3, "famliy", "family")


def test_a_source_of_one_field_has_its_grade_beside_it(shop_faults):
    text = f"id,bore,source.bore,source,grade\n,in,,,\n{OURS},0.4,calliper,bench,measured\n"
    (fault,) = shop_faults(stock__csv=text)
    assert (fault.key, fault.message) == ("source.bore", "has no grade beside it")
    assert fault.expected == "grade.bore too"


def test_a_row_that_is_like_another_and_has_a_slip_has_one_fault(shop_faults):
    (fault,) = shop_faults(ends__csv=ENDS.replace("cutoff", "cut_off") + f"mine,{OUR_END},1,,bench,measured\n")
    assert (fault.key, fault.nearest) == ("cut_off", "cutoff")
    (fault,) = shop_faults(ends__csv=ENDS.replace("like", "lik") + f"mine,{OUR_END},1,,bench,measured\n")
    assert (fault.key, fault.nearest) == ("lik", "like")


@pytest.mark.parametrize("figure", ['"5"', "5", '"0.05"'])
def test_a_share_without_its_unit_is_no_limit(shop_faults, figure):
    # Read as a plain ratio, 5 would be 500 %.
    limit = f'caution_below = {figure}\nsource = "own trials"\ngrade = "measured"\n'
    (fault,) = shop_faults(limits__toml=f'["fuel.margin"]\n{limit}')
    assert (fault.line, fault.key) == (2, "caution_below")
    assert fault.message.endswith("has no unit")


@pytest.mark.parametrize("name", ["ends.xlsx", "stock.ods", "curves.XLS"])
def test_a_workbook_in_the_shops_folder_is_not_passed_over(tmp_path, name):
    (tmp_path / name).write_bytes(b"PK\x03\x04")
    with pytest.raises(TableError, match="a workbook of a spreadsheet"):
        Catalog(tmp_path)


# ---------------------------------------------------------------- a whole family at once

SUPPLIER = 'source = "the supplier, invented"\ngrade = "published"\n'


def test_a_row_named_for_a_family_is_laid_over_every_size_but_where_a_size_says_otherwise(shop):
    own = f'["{OURS}"]\nconducts = false\nsource = "bench"\ngrade = "measured"\n'
    catalog, ours = shop(stock__toml=f"[ptfe-braid]\nconducts = true\n{SUPPLIER}{own}"), Catalog()
    sizes = [key for key in ours.ids("stock") if ours.stock(key).family == "ptfe-braid"]
    assert len(sizes) > 5
    assert catalog.ids("stock") == ours.ids("stock")
    for key in sizes:
        stock, before = catalog.stock(key), ours.stock(key)
        assert stock.conducts is (key != OURS)
        assert stock.origin("conducts").grade is (Grade.MEASURED if key == OURS else Grade.PUBLISHED)
        assert (stock.bore, stock.origin("bore")) == (before.bore, before.origin("bore"))
    assert catalog.stock("rubber-braid -8").conducts is None


def test_a_family_may_be_the_shops_own(shop):
    catalog = shop(stock__csv=STOCK, stock__toml=f"[test]\nconducts = true\n{SUPPLIER}")
    assert catalog.stock("test -6").conducts is True
    head, units, row = STOCK.splitlines()[1:]
    both = f"{head},conducts\n{units},\n{row},\ntest,,,,,,,,,,,,,the supplier (invented),published,yes\n"
    assert shop(stock__csv=both, stock__toml="").stock("test -6").conducts is True


@pytest.mark.parametrize(
    ("text", "key", "words"),
    [
        (f'[ptfe-braid]\nconducts = "maybe"\n{SUPPLIER}', "conducts", "true or false"),
        (f"[ptfe-braid]\nconduct = true\n{SUPPLIER}", "conduct", "is no key"),
        (f"[ptfe-brad]\nconducts = true\n{SUPPLIER}", None, "is no row of stock yet"),
        ('[ptfe-braid]\nconducts = true\nsource = "supplier"\n', "grade", "says where its own figures come from"),
    ],
)
def test_a_fault_in_a_row_of_a_family_is_told_once_under_its_name(shop_faults, text, key, words):
    (fault,) = shop_faults(stock__toml=text)
    assert (fault.table, fault.key) == (text[1 : text.index("]")], key)
    assert words in fault.message
    assert fault.nearest == {"conduct": "conducts", None: "ptfe-braid"}.get(key)
    assert "more" not in fault.message


def test_a_new_id_is_like_another_one(shop):
    row = f"mine,{OUR_END},0.8,,bench,measured\n"
    catalog = shop(ends__csv=ENDS + row)
    mine, ours = catalog.end("mine"), catalog.end(OUR_END)
    assert mine.bore == ours.bore
    assert (mine.cutoff, mine.grade_of("cutoff")) == (pytest.approx(0.8 * INCH), Grade.MEASURED)
    assert mine.origin("bore") == ours.origin("bore")
    assert mine in catalog.ends_of(ours.fits)
    assert "mine" not in Catalog().ids("ends")


@pytest.mark.parametrize("order", [(0, 1, 2), (2, 1, 0), (1, 2, 0)])
def test_a_row_may_be_like_another_of_the_shop_in_any_order(shop, order):
    rows = [
        f"{OUR_END},,0.9,ours,bench,measured",
        f"a,{OUR_END},,,bench,measured",
        "b,a,,b-part,bench,measured",
    ]
    catalog = shop(ends__csv=ENDS + "\n".join(rows[n] for n in order))
    assert [catalog.end(key).cutoff for key in ("a", "b")] == pytest.approx([0.9 * INCH] * 2)
    assert [catalog.end(key).part for key in ("a", "b")] == ["ours", "b-part"]
    assert catalog.end("b").grade_of("cutoff") == Grade.MEASURED


def test_rows_that_are_like_each_other_are_refused(shop_faults):
    found = shop_faults(ends__csv=ENDS + "a,b,1,,bench,measured\nb,a,1,,bench,measured\n")
    assert all("is no other row of ends" in fault.message for fault in found)
    assert {fault.table for fault in found} == {"a", "b"}


@pytest.mark.parametrize(("like", "near"), [("ptfe-braid -8 strait", OUR_END), ("mine", None), ("zzz", None)])
def test_a_row_like_nothing_is_told_the_nearest(shop_faults, like, near):
    (fault,) = shop_faults(ends__csv=f"{ENDS}mine,{like},1,,bench,measured\n")
    assert (fault.key, fault.nearest, fault.line) == ("like", near, 3)
    assert like in fault.message


def test_like_is_a_word(shop_faults):
    (fault,) = shop_faults(ends__toml='[mine]\nlike = ["a"]\nsource = "bench"\ngrade = "measured"\n')
    assert (fault.key, fault.line) == ("like", 2)


def test_a_new_id_without_like_gives_all(shop, shop_faults):
    assert shop(stock__csv=STOCK).stock("test -6").bore == pytest.approx(0.3125 * INCH)
    (fault,) = shop_faults(stock__csv=STOCK.replace(",roughness", ",note"))
    assert fault.message == '"test -6" is no row of stock yet, and as a new one it lacks roughness'
    assert "like = " in fault.expected


def test_a_shop_overrides_a_curve_and_a_limit(shop):
    limit = '["run.slack"]\nfail_below = "3 %"\nsource = "own trials"\ngrade = "measured"\n'
    catalog = shop(curves__csv=CURVE.replace("p,", "electric-small,"), limits__toml=limit)
    assert len(catalog.curve("electric-small").points) == 3
    assert catalog.limit("run.slack").fail_below == pytest.approx(0.03)
    assert catalog.limit("run.slack").caution_below == Catalog().limit("run.slack").caution_below


def test_toml_and_csv_of_one_table_both_count(shop):
    first = f"{ENDS}{OUR_END},,0.9,,bench,measured\n"
    second = f'["{OUR_END}"]\ncutoff = "0.95 in"\nsource = "second look"\ngrade = "measured"\n'
    over = shop(ends__csv=first, ends__toml=second).end(OUR_END)
    assert over.cutoff == pytest.approx(0.95 * INCH)
    assert over.origin("cutoff").source == "second look"


def test_a_suffix_in_capitals_counts(shop):
    assert "test -6" in shop(stock__CSV=STOCK).ids("stock")


@pytest.mark.parametrize(
    ("name", "near"), [("stok", "stock"), ("curve", "curves"), ("kinds", "ends"), ("zzzzzz", None)]
)
def test_a_file_that_is_no_table_is_told_the_nearest(shop_faults, name, near):
    (fault,) = shop_faults(**{f"{name}__csv": STOCK})
    assert (fault.file, fault.message) == (f"shop/{name}.csv", "is no table")
    assert "stock" in fault.expected
    assert name == "kinds" or fault.nearest == near


def test_other_files_of_the_folder_are_left_alone(shop):
    assert shop(notes__txt="x", photo__jpg="x", stock__csv=STOCK).ids("stock")


def test_a_folder_that_is_not_there_says_so(tmp_path):
    with pytest.raises(TableError, match="no such folder"):
        Catalog(tmp_path / "none")


def test_all_faults_of_all_files_come_together(shop_faults):
    found = shop_faults(
        ends__csv=ENDS + f"mine,nothing,1,,bench,measured\n{OUR_END},,1 psi,,bench,measured\nother,{OUR_END},1,,,\n",
        stock__csv=STOCK.replace(",5/16,", ",5 pis,").replace(",inside,", ",insid,").replace(",6,", ",600,"),
        limits__toml='["run.slack"]\nfail_belw = "3 %"\nsource = "own"\ngrade = "measured"\n',
        fluid__toml="",
    )
    assert [(fault.file, fault.line, fault.key) for fault in found] == [
        ("shop/ends.csv", 3, "like"),
        ("shop/ends.csv", 4, "cutoff"),
        ("shop/ends.csv", 5, "grade"),
        ("shop/ends.csv", 5, "source"),
        ("shop/fluid.toml", None, None),
        ("shop/limits.toml", 2, "fail_belw"),
        ("shop/stock.csv", 4, "bore"),
        ("shop/stock.csv", 4, "dash"),
        ("shop/stock.csv", 4, "radius_to"),
    ]
    by_key = {fault.key: fault for fault in found}
    assert by_key["fail_belw"].nearest == "fail_below"
    assert by_key["radius_to"].nearest == "inside"
    assert by_key["cutoff"].message == '"psi" is a unit of pressure, not of length'


FLUID = """\
[mix]
means = "invented"
family = "gasoline"
flammable = true
source = "invented"
grade = "illustrative"
density = { at = ["15 C"], is = ["745 kg/m"], source = "invented", grade = "illustrative" }
viscosity = { at = ["20 C"], is = ["0.5 mm2/s", "0.4 mm2/s"], source = "invented", grade = "illustrative" }
"""


@pytest.mark.parametrize(
    ("vapour", "key", "words"),
    [
        (
            '{ reid = "9 psi", slop = 3, source = "invented", grade = "memory" }',
            "vapour.slop",
            "is no key here",
        ),
        (
            '{ at = ["20 C"], is = ["9 mm2/s"], source = "invented", grade = "memory" }',
            "vapour.is[1]",
            "viscosity",
        ),
        ("9", "vapour", "must be a table"),
    ],
)
def test_a_fluid_has_only_the_faults_of_what_was_written(shop_faults, vapour, key, words):
    found = {fault.key: fault for fault in shop_faults(fluids__toml=f"{FLUID}vapour = {vapour}\n")}
    assert set(found) == {"density.is[1]", "viscosity", key}
    assert words in found[key].message
    assert (found[key].line, found["viscosity"].message) == (9, "temperatures 1, values 2")
    assert found["density.is[1]"].nearest == "kg/m3"


FORMULAS = [
    "=1+1",
    "=cmd|' /C calc'!A0",
    "@SUM(A1:A9)",
    "+1+1",
    "-2+3",
    "${jndi}",
    "{0.__class__}",
    "%s%n",
    "`id`",
    "'; --",
]


@pytest.mark.parametrize("cell", FORMULAS)
def test_a_formula_in_a_cell_stays_a_text_and_is_no_number(shop, shop_faults, cell):
    assert shop(stock__csv=STOCK.replace("invented,illus", f"{cell},illus")).stock("test -6").source == cell
    (fault,) = shop_faults(stock__csv=STOCK.replace(",5/16,", f",{cell},"))
    assert fault.key == "bore"


@settings(max_examples=50)
@given(st.lists(st.lists(hostile_texts(), max_size=6).map(",".join), max_size=6).map("\n".join), st.booleans())
def test_any_text_is_a_table_or_refused(tmp_path_factory, text, toml):
    head = "[x]\n" if toml else "id,like,cutoff,grade,source,grade.bore\n,,in,,,\n"
    folder = tmp_path_factory.mktemp("shop")
    (folder / ("ends.toml" if toml else "ends.csv")).write_bytes((head + text).encode(errors="replace"))
    try:
        Catalog(folder)
    except TableError as error:
        assert all(str(fault).startswith("shop/ends.") for fault in error.faults)  # noqa: PT017
