"""The command as a person runs it: the whole path through its arguments, its output and its exit codes."""

import json
import shutil
from importlib import resources

import pytest

from reports.cli import main


@pytest.fixture
def example(tmp_path):
    with resources.as_file(resources.files("lines") / "examples" / "fuel-return") as folder:
        shutil.copytree(folder, tmp_path / "vehicle")
    return tmp_path / "vehicle" / "plan.toml"


@pytest.fixture
def metric(tmp_path):
    with resources.as_file(resources.files("lines") / "examples" / "methanol-sideways") as folder:
        shutil.copytree(folder, tmp_path / "metric")
    return tmp_path / "metric" / "plan.toml"


def run(capsys, *arguments):
    code = main([str(a) for a in arguments])
    told = capsys.readouterr()
    return code, told.out, told.err


def change(plan, old, new):
    text = plan.read_text(encoding="utf-8")
    assert old in text
    plan.write_text(text.replace(old, new, 1), encoding="utf-8")


def test_check_shows_every_verdict_in_80_columns(capsys, example):
    code, out, err = run(capsys, "check", example)
    assert code == 1
    assert err == ""
    assert max(len(line) for line in out.splitlines()) <= 80
    assert "\x1b" not in out
    counts = json.loads(run(capsys, "check", example, "--json")[1])["counts"]
    assert ", ".join(f"{counts[word]} {word}" for word in ("fail", "caution", "unchecked", "pass")) in out
    assert len(out.splitlines()) < sum(counts.values()) + 85
    for words in (
        "FAIL      drain.fall/O2",
        "CAUTION   fuel.margin/fuel",
        "UNCHECKED run.radius/F1",
        "DO:",
        "MEASURE:",
    ):
        assert words in out


def test_a_steeper_drain_passes_its_check(capsys, example):
    change(example, '"16.1, -10, 23.5 in", points = "back 30 deg up"', '"8, -10, 18 in", points = "up"')
    change(example, '"down 15 deg forward"', '"down 9 deg forward"')
    code, out, _ = run(capsys, "check", example, "--json")
    drains = {f["rule"]: f["verdict"] for f in json.loads(out)["findings"] if f["place"] == "O2"}
    assert (drains["drain.fall"], drains["drain.surface"]) == ("pass", "pass")
    assert code == 0


def test_what_the_supplier_says_of_a_liner_is_written_where_the_finding_asks_for_it(capsys, example):
    def static():
        document = json.loads(run(capsys, "check", example, "--json")[1])
        return {f["place"]: f for f in document["findings"] if f["rule"] == "run.static"}

    asked = static()
    assert {tag: f["verdict"] for tag, f in asked.items()} == {"F1": "unchecked"} | dict.fromkeys(
        ("F2", "F3", "F4", "F5"), "pass"
    )
    assert "[stock.ptfe-braid]" in asked["F1"]["needs"]
    answer = '\n[stock.ptfe-braid]\nconducts = {}\nsource = "who says so"\ngrade = "published"\n'
    plan = example.read_text(encoding="utf-8")
    example.write_text(plan + answer.format("true"), encoding="utf-8")
    assert {f["verdict"] for f in static().values()} == {"pass"}
    example.write_text(plan + answer.format("false"), encoding="utf-8")
    assert static()["F1"]["verdict"] == "fail"


def test_a_plan_that_names_its_rulebook_is_held_to_it_and_told_the_rest(capsys, example):
    change(example, 'shop = "shop"', 'shop = "shop"\nrulebooks = ["fia-appendix-j"]')
    code, out, _ = run(capsys, "check", example)
    assert code == 1
    assert "class.burst: 7 pass" in out
    assert "BY HAND" in out
    assert "through the cockpit" in " ".join(out.split())
    assert max(len(line) for line in out.splitlines()) <= 80
    change(example, "fia-appendix-j", "fia-appendix-jay")
    code, _, err = run(capsys, "check", example)
    assert code == 2
    assert 'did you mean "fia-appendix-j"?' in " ".join(err.split())


def test_check_json_is_one_document_as_promised(capsys, example):
    code, out, _ = run(capsys, "check", example, "--json")
    document = json.loads(out, parse_constant=pytest.fail)
    assert code == 1
    assert list(document) == ["schema", "plan", "revision", "counts", "findings"]
    ids = [f["id"] for f in document["findings"]]
    assert ids == sorted(ids)
    assert len(ids) == len(set(ids)) == sum(document["counts"].values())
    for found in document["findings"]:
        assert found["id"] == f"{found['rule']}/{found['place']}"
        assert found["why"]
        if found["verdict"] == "unchecked":
            assert found["needs"]
            assert found["basis"] is None
        else:
            assert found["basis"]
        if found["verdict"] in {"fail", "caution"}:
            assert found["change"]
    pressure = next(f for f in document["findings"] if f["id"] == "run.pressure/F2")
    assert pressure["value"]["unit"] == "psi"
    assert pressure["value"]["reference"] == "gauge"
    assert pressure["limit"]["low"] is None
    assert {c["duty"] for c in pressure["cases"]} == {"idle", "cruise", "full_load"}
    assert run(capsys, "check", example, "--json")[1] == out


def test_solve_json_has_nodes_runs_and_components(capsys, example):
    code, out, _ = run(capsys, "solve", example, "--json")
    document = json.loads(out, parse_constant=pytest.fail)
    assert code == 0
    assert document["schema"] == 1
    assert list(document["circuits"]) == ["fuel", "oil"]
    duty = document["circuits"]["fuel"]["full_load"]
    run_ = duty["runs"]["F3"]
    assert run_["flow"]["unit"] == "gph"
    total = sum(part["value"] for part in run_["losses"].values())
    assert run_["loss"]["value"] == pytest.approx(total, rel=1e-4)
    drop = duty["nodes"]["filter.out"]["total"]["value"] - duty["nodes"]["rail.in"]["total"]["value"]
    # 22 in of gasoline at 732 kg/m3 stand between them: 731.66 x 9.80665 x 22 x 0.0254 / 6894.757 = 0.5815 psi.
    assert drop == pytest.approx(run_["loss"]["value"] + 0.5815, abs=0.002)
    assert duty["nodes"]["filter.out"]["static"]["value"] < duty["nodes"]["filter.out"]["total"]["value"]
    assert duty["components"]["regulator"]["valve"]["state"] == "holding"


def test_solve_one_circuit_one_duty(capsys, metric):
    code, out, _ = run(capsys, "solve", metric, "--circuit", "oil", "--duty", "pull", "--json")
    document = json.loads(out)
    assert code == 0
    assert list(document["circuits"]) == ["oil"]
    assert list(document["circuits"]["oil"]) == ["pull"]
    code, out, _ = run(capsys, "solve", metric)
    assert code == 0
    assert "kPa" in out
    assert "psi" not in out
    assert max(len(line) for line in out.splitlines()) <= 80


@pytest.mark.parametrize(
    ("arguments", "nearest"), [(["--circuit", "feul"], "fuel"), (["--duty", "full-load"], "full_load")]
)
def test_solve_names_the_nearest_word(capsys, example, arguments, nearest):
    code, out, _ = run(capsys, "solve", example, *arguments, "--json")
    assert code == 2
    assert json.loads(out)["errors"][0]["nearest"] == nearest


def test_a_circuit_without_an_answer_is_2_and_unchecked(capsys, example):
    change(example, 'boost = "18 psi", ', "")
    code, out, _ = run(capsys, "solve", example, "--json")
    assert code == 2
    (error,) = json.loads(out)["errors"]
    assert error["message"] == "no answer: the boost in full_load is not known"
    code, out, _ = run(capsys, "check", example, "--json")
    findings = {f["id"]: f for f in json.loads(out)["findings"]}
    assert findings["circuit.flow/fuel"]["verdict"] == "unchecked"
    assert findings["run.pressure/F3"]["verdict"] == "unchecked"
    assert findings["run.pressure/O1"]["verdict"] == "pass"


def test_a_plan_that_cannot_be_read_is_2(capsys, example):
    change(example, 'stock = "ptfe-braid -8"', 'stock = "ptfe-brade -8"')
    code, out, err = run(capsys, "check", example)
    assert (code, out) == (2, "")
    assert 'did you mean "ptfe-braid -8"?' in " ".join(err.split())
    code, out, err = run(capsys, "check", example, "--json")
    assert (code, err) == (2, "")
    (error,) = json.loads(out)["errors"]
    assert list(error) == ["file", "line", "table", "key", "message", "expected", "nearest"]
    assert (error["file"], error["line"], error["table"], error["key"]) == ("plan.toml", 79, "runs.F1", "stock")


def test_no_file_is_2(capsys, tmp_path):
    code, _, err = run(capsys, "check", tmp_path / "nothing.toml")
    assert code == 2
    assert "there is no such file" in err


def test_a_fault_of_the_tool_is_3_and_told_as_such(capsys, example, monkeypatch):
    monkeypatch.setattr("solver.study.study", lambda _plan: 1 / 0)
    code, _, err = run(capsys, "check", example)
    assert code == 3
    assert "linewright itself has failed" in err
    assert "ZeroDivisionError" in err


def test_new_starts_a_plan_that_checks_and_overwrites_nothing(capsys, tmp_path):
    code, out, _ = run(capsys, "new", tmp_path / "truck")
    assert code == 0
    assert sorted(p.name for p in (tmp_path / "truck").rglob("*") if p.is_file()) == sorted(
        line.rpartition("/")[2] for line in out.splitlines()
    )
    assert run(capsys, "check", tmp_path / "truck" / "plan.toml")[0] == 1
    before = (tmp_path / "truck" / "plan.toml").stat().st_mtime_ns
    code, _, err = run(capsys, "new", tmp_path / "truck")
    assert code == 2
    assert "not overwritten" in err
    assert (tmp_path / "truck" / "plan.toml").stat().st_mtime_ns == before


def test_the_measuring_sheet_asks_for_what_a_plan_needs(tmp_path):
    from pypdf import PdfReader

    from reports.measuring import draw_measuring_sheet

    (tmp_path / "sheet.pdf").write_bytes(draw_measuring_sheet())
    text = " ".join(page.extract_text() for page in PdfReader(tmp_path / "sheet.pdf").pages)
    for word in ("zero", "component.port", "rise", "inside radius", "volts", "boost", "full"):
        assert word in text


@pytest.mark.parametrize("command", ["sheets", "demo"])
def test_sheets_and_demo_write_their_files(capsys, example, tmp_path, command):
    target = tmp_path / "out"
    arguments = ["sheets", example, "-o", target] if command == "sheets" else ["demo", "-o", target]
    code, out, _ = run(capsys, *arguments)
    assert code == 0
    written = {p.name for p in target.iterdir()}
    assert {name for name in written if name.endswith(".pdf")}
    assert {"cut-list.csv", "order-list.csv", "findings.csv"} <= written
    assert all(name in out for name in written)


def test_a_misspelt_command_is_told_the_nearest(capsys, monkeypatch):
    monkeypatch.setattr("sys.argv", ["linewright", "chekc"])
    with pytest.raises(SystemExit) as stopped:
        main(["chekc"])
    assert stopped.value.code == 2
    assert 'did you mean "check"?' in capsys.readouterr().err
