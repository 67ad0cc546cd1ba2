"""The files themselves: whole or not at all, in one folder; pages that can be read at the bench."""

import csv
import io
import os
import re
from importlib import resources
from pathlib import Path

import numpy as np
import pypdf
import pypdfium2
import pytest
from writing import read

from catalogs.errors import OutputError
from lines.reading import read_plan
from reports.sheets import write_sheets
from solver.checks import findings
from solver.study import study

NAMES = [
    "joint-list.csv", "cut-list.csv", "bench.csv", "order-list.csv", "drains.csv", "envelope.csv",
    "findings.csv", "test-record.csv",
    "worked.pdf", "worked.csv",
]  # fmt: skip
# Points of 1/72 in: US Letter 8.5 x 11 in; A4 210 x 297 mm (ISO 216).
PAPERS = {"letter": (612.0, 792.0), "a4": (595.28, 841.89)}
EXAMPLES = {"fuel-return": "letter", "methanol-sideways": "a4"}


def studied(name):
    with resources.as_file(resources.files("lines") / "examples" / name) as folder:
        made = study(read_plan(Path(folder) / "plan.toml"))
    return made, findings(made)


@pytest.fixture(scope="module", params=EXAMPLES)
def vehicle(request):
    return request.param, *studied(request.param)


@pytest.fixture(scope="module", params=PAPERS)
def printed(request, vehicle, tmp_path_factory):
    """A shipped example on each paper: the study, its findings and the files."""
    _, made, found = vehicle
    folder = tmp_path_factory.mktemp("sheets")
    return made, found, write_sheets(made, found, folder, paper=request.param), request.param


@pytest.fixture(scope="module")
def pages(printed):
    return [page.extract_text() for page in pypdf.PdfReader(printed[2][0]).pages]


HOSTILE = "<b>& <para> <font size=99> " + "\u6f22\u202e\u0416 " + "W" * 150


@pytest.fixture(scope="module")
def hostile(tmp_path_factory):
    """Forty runs, every text as long and as odd as a plan may have it."""
    folder = tmp_path_factory.mktemp("hostile")
    text = HOSTILE[:200]
    head = {"title": text, "revision": text, "zero": text, "note": text, "units": "us"}
    bends = [f"{n}, {3 * (n % 2)}, 10 in" for n in range(1, 199)]
    ways = [
        {"via": []},
        {"via": bends, "ends": ["straight", "90 deg"]},
        {"ends": ["auto", "straight"]},
        {"length": "1 in", "length_is": "seat-to-seat", "ends": ["90 deg", "90 deg"]},
        {"length": "220 in", "length_is": "overall", "ends": ["90 deg", "90 deg"], "clock": "275 deg"},
    ]
    components, runs = {}, {}
    for n in range(40):
        out = {"at": "0, 0, 10 in", "thread": "orb -6"}
        into = {"at": "200, 0, 10 in"} | ({} if n % 3 else {"thread": "flare37 -6"})
        components[f"s{n}"] = {"kind": "source", "pressure": "40 psi", "ports": {"out": out}}
        components[f"d{n}"] = {"kind": "draw", "flow": "10 gph", "ports": {"in": into}}
        way = ways[n % len(ways)]
        if n % len(ways) == 3:
            components[f"s{n}"]["ports"], components[f"d{n}"]["ports"] = {}, {}
        runs[f"run {n:02} {'x' * 33}"] = {
            "circuit": "fuel", "from": f"s{n}.out", "to": f"d{n}.in", "stock": "long -6", "line": text, "note": text,
        } | way  # fmt: skip
    # A shop's own texts have no bound in TOML.
    stock = {
        "like": "ptfe-braid -6",
        "means": "very long " * 480,
        "source": "for the test, memory " * 200,
        "grade": "memory",
    }
    ends = {
        f"long -6 {form}": {"like": f"ptfe-braid -6 {form}", "fits": "long -6", "means": "W" * 4800}
        | {"source": "for the test", "grade": "illustrative"}
        for form in ("straight", "90 deg")
    }
    circuits = {"fuel": {"fluid": "gasoline-summer", "temperature": "70 F"}}
    shop(folder, "stock", {"long -6": stock})
    shop(folder, "ends", ends)
    plan = read(folder, plan=head | {"shop": "shop"}, circuits=circuits, components=components, runs=runs)
    made = study(plan)
    return made, findings(made), write_sheets(made, findings(made), folder / "out")


def shop(folder, table, rows):
    (folder / "shop").mkdir(exist_ok=True)
    lines = [
        f'["{key}"]\n' + "\n".join(f'{field} = "{text}"' for field, text in row.items()) for key, row in rows.items()
    ]
    (folder / "shop" / f"{table}.toml").write_text("\n".join(lines), encoding="utf-8")


def named(paths, name):
    return next(path for path in paths if path.name == name)


def rows_of(path):
    """The rows of a table by the names of its columns."""
    return list(csv.DictReader(io.StringIO(path.read_text(encoding="utf-8-sig"), newline="")))


def pictures(path, scale=0.7):
    """Every page as an array of rows, columns and red, green, blue."""
    document = pypdfium2.PdfDocument(path)
    try:
        for page in document:
            yield page.get_size(), np.asarray(page.render(scale=scale).to_pil().convert("RGB"))
    finally:
        document.close()


def typed(page):
    """Each text of a page with the size of its type [pt]."""
    found = []

    def visit(text, _matrix, text_matrix, _font, size):
        if text.strip():
            found.append((round(size * abs(text_matrix[3]), 1), text.strip()))

    page.extract_text(visitor_text=visit)
    return found


# ---------------------------------------------------------------- files


def test_the_packet_and_its_tables_are_written_and_nothing_else(printed):
    _, _, paths, _ = printed
    assert [path.name for path in paths] == ["plan-sheets.pdf", *NAMES]
    assert sorted(p.name for p in paths[0].parent.iterdir()) == sorted(["plan-sheets.pdf", *NAMES])


def test_the_paper_follows_the_plans_units(vehicle, tmp_path):
    name, made, found = vehicle
    pdf = write_sheets(made, found, tmp_path)[0]
    size = pypdf.PdfReader(pdf).pages[0].mediabox
    assert (float(size.width), float(size.height)) == pytest.approx(PAPERS[EXAMPLES[name]], abs=0.01)


def test_the_same_plan_gives_the_same_bytes(vehicle, tmp_path):
    _, made, found = vehicle
    first, second = (write_sheets(made, found, tmp_path / n) for n in "ab")
    assert [p.read_bytes() for p in first] == [p.read_bytes() for p in second]


def test_a_table_reads_back_with_every_assembly(printed):
    made, found, paths, _ = printed
    by_name = {path.name: rows_of(path) for path in paths if path.suffix == ".csv"}
    assert [row["tag"] for row in by_name["bench.csv"]] == list(made.assemblies)
    assert sorted(row["tag"] for row in by_name["cut-list.csv"]) == sorted(made.assemblies)
    assert [row["tag"] for row in by_name["test-record.csv"]] == list(made.assemblies)
    assert {row["id"] for row in by_name["findings.csv"]} == {f.id for f in found}
    unit = {"us": "in", "metric": "mm"}[made.plan.system]
    hose = {r["id"]: float(r["quantity"]) for r in by_name["order-list.csv"] if r["sort"] == "hose"}
    for stock, quantity in hose.items():
        cuts = [r[f"cut length [{unit}]"] for r in by_name["cut-list.csv"] if r["stock"] == stock]
        assert sum(float(c) for c in cuts if c) == pytest.approx(quantity)


def test_it_says_what_it_is_doing(vehicle, tmp_path):
    said = []
    write_sheets(*vehicle[1:], tmp_path, progress=said.append)
    assert len(said) >= 3


def test_a_folder_that_is_a_file_is_refused_in_plain_words(vehicle, tmp_path):
    (tmp_path / "out").write_text("mine", encoding="utf-8")
    with pytest.raises(OutputError, match="cannot write"):
        write_sheets(*vehicle[1:], tmp_path / "out")
    assert (tmp_path / "out").read_text(encoding="utf-8") == "mine"


@pytest.mark.parametrize("name", ["plan-sheets.pdf", "order-list.csv"])
def test_a_write_that_fails_leaves_no_part_of_a_file(vehicle, tmp_path, monkeypatch, name):
    (tmp_path / name).write_text("of yesterday", encoding="utf-8")
    replace = os.replace

    def full(source, target, **more):
        if Path(target).name == name:
            raise OSError(28, "No space left on device")
        replace(source, target, **more)

    monkeypatch.setattr(os, "replace", full)
    monkeypatch.setattr(Path, "replace", full)
    with pytest.raises(OutputError, match="No space left"):
        write_sheets(*vehicle[1:], tmp_path)
    assert (tmp_path / name).read_text(encoding="utf-8") == "of yesterday"
    assert {p.name for p in tmp_path.iterdir()} <= {"plan-sheets.pdf", *NAMES}
    for path in tmp_path.iterdir():
        assert path.stat().st_size > 0


def test_a_link_in_the_folder_is_replaced_and_what_it_points_at_is_left(vehicle, tmp_path):
    (tmp_path / "outside").write_text("mine", encoding="utf-8")
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "bench.csv").symlink_to(tmp_path / "outside")
    write_sheets(*vehicle[1:], tmp_path / "out")
    assert (tmp_path / "outside").read_text(encoding="utf-8") == "mine"
    assert not (tmp_path / "out" / "bench.csv").is_symlink()


# ---------------------------------------------------------------- pages


def test_every_page_says_whose_it_is(printed, pages):
    head = printed[0].plan.head
    units = {"us": "US shop units: in, psi, F", "metric": "metric units: mm, kPa, C"}[head.units]
    for number, text in enumerate(pages, 1):
        assert head.title in text
        assert f"revision {head.revision}" in text
        assert f"page {number} of {len(pages)}" in text
        assert units in text


def test_the_front_has_the_cautions_with_local_rules_first(printed, pages):
    first = " ".join(pages[0].split())
    assert first.index("Local rules and licensed practice come first.") < first.index("Test with liquid")
    assert printed[0].plan.head.zero in first


def test_every_assembly_has_its_block_with_its_cut_length(printed, pages):
    made, _, paths, _ = printed
    rows = rows_of(named(paths, "bench.csv"))
    blocks = [text for text in pages if "CUT LENGTH" in text]
    for row in rows:
        (own,) = [text for text in blocks if f"Label  {row['tag']} " in " ".join(text.split("\n")) + " "] or [""]
        assert bool(row["on the tape"]) == (row["state"] not in {"unknown", "does not fit", "impossible"}), row["tag"]
        assert (row["on the tape"] or "do not cut") in own
        assert all(part in " ".join(own.split()) for part in row["measure first"].replace("  ", " ").split(" / "))
    assert sum(text.count("CUT LENGTH") for text in blocks) == len(made.assemblies)


def test_the_cut_length_is_by_far_the_largest_thing_of_every_block(printed):
    rows = rows_of(named(printed[2], "bench.csv"))
    lengths = {row["on the tape"] for row in rows if row["on the tape"]}
    seen = []
    for page in pypdf.PdfReader(printed[2][0]).pages:
        texts = typed(page)
        if not any(text == "CUT LENGTH" for _, text in texts) or not any(text in lengths for _, text in texts):
            continue
        largest = max(size for size, _ in texts)
        assert largest > 30  # pt: 11 mm high, read at arm's length
        big = [text for size, text in texts if size > 0.7 * largest]
        assert set(big) <= lengths
        assert max(size for size, text in texts if text not in lengths) < 0.6 * largest
        seen += big
    assert sorted(seen) == sorted(row["on the tape"] for row in rows if row["on the tape"])


def test_no_word_is_smaller_than_can_be_read_at_the_bench(printed):
    # 6.5 pt of a face with so high an x as this one reads like 8 pt of a newspaper's; common practice, no source.
    for page in pypdf.PdfReader(printed[2][0]).pages:
        assert min(size for size, _ in typed(page)) >= 6.5


def test_a_provisional_length_says_so_in_capitals_and_asks_for_the_measure(printed, pages):
    rows = rows_of(named(printed[2], "bench.csv"))
    expected = sum(row["state"] == "provisional" for row in rows)
    assert expected  # both examples have some
    blocks = "\n".join(text for text in pages if "CUT LENGTH" in text)
    assert blocks.count("PROVISIONAL") == expected
    says = ("then cut", "then put it")
    assert sum(blocks.count(text) for text in says) == expected


def test_findings_stand_from_the_worst_on_and_unchecked_in_full(printed, pages):
    _, found, _, _ = printed
    text = " ".join(" ".join(pages).split())
    places = [text.index(f"{verdict}: ") for verdict in ("FAIL", "CAUTION", "UNCHECKED", "PASS")]
    assert places == sorted(places)
    for finding in found:
        if finding.verdict.value != "pass":
            heads = re.findall(rf"{re.escape(finding.rule)}/([\w.]+(?:, [\w.]+)*)", text)
            assert finding.place in ", ".join(heads).split(", ")
    alone = [f for f in found if sum(g.rule == f.rule for g in found) == 1 and f.needs]
    assert alone
    assert all(" ".join(f.needs.split()) in text for f in alone)


def test_no_page_is_blank_none_has_colour_and_the_margins_are_white(printed):
    _, _, paths, paper = printed
    scale = 0.7
    margin = int(5 / 25.4 * 72 * scale)  # 5 mm: what a desk printer cannot reach
    for size, picture in pictures(paths[0], scale):
        assert size == pytest.approx(PAPERS[paper], abs=0.01)
        assert (picture.max(axis=2) == picture.min(axis=2)).all()
        dark = picture.min(axis=2) < 250
        assert 0.005 < dark.mean() < 0.5
        inner = dark[margin:-margin, margin:-margin].sum()
        assert dark.sum() == inner


# ---------------------------------------------------------------- odd plans


def test_forty_runs_with_the_longest_texts_are_drawn_within_their_pages(hostile):
    made, _, paths = hostile
    text = ""
    for page in pypdf.PdfReader(paths[0]).pages:
        text += page.extract_text()
    assert text.count("CUT LENGTH") == len(made.assemblies) == 40
    assert text.count("no hose left") == 8  # every fifth run has an inch for two ends
    blocks = text[text.index("CUT LENGTH") : text.index("Cut list")]
    assert blocks.count("NOT KNOWN") >= 16
    # Each of 16 in its row, and once over the list and over its stock.
    assert text[text.index("Cut list") : text.index("Order list")].count("NOT KNOWN") == 16 + 2
    for _, picture in pictures(paths[0], 0.3):
        dark = picture.min(axis=2) < 250
        assert dark.any()
        assert not dark[:4].any()
        assert not dark[-4:].any()
        assert not dark[:, :4].any()
        assert not dark[:, -4:].any()


def test_markup_in_a_title_is_printed_as_it_stands_and_missing_letters_are_marked(hostile):
    reader = pypdf.PdfReader(hostile[2][0])
    text = reader.pages[0].extract_text()
    assert "<b>& <para> <font size=99> ? ? WW" in text
    assert max(size for size, _ in typed(reader.pages[0])) < 30


def test_the_tables_keep_every_letter_of_the_plan(hostile):
    rows = rows_of(named(hostile[2], "bench.csv"))
    assert rows[0]["line"].startswith("<b>& <para> <font size=99> \u6f22 \u0416 WW")
