"""A run in another size: the next dash of its family, never another wall of the same, and the run made up in it."""

import pytest
from writing import read, run, straight, tube

from lines.assembly import assembly
from lines.resize import made_up_in, next_stock

FAMILY = {
    "six": tube("7.5 mm") | {"dash": 6, "family": "own"},
    "six thin": tube("8.5 mm") | {"dash": 6, "family": "own"},
    "eight thick": tube("7 mm") | {"dash": 8, "family": "own"},
    "eight": tube("10 mm") | {"dash": 8, "family": "own"},
    "ten": tube("13 mm") | {"dash": 10, "family": "own"},
    "another": tube("9 mm") | {"dash": 8, "family": "other"},
}


@pytest.fixture
def plan(tmp_path):
    near, far = straight(1.0)
    return read(
        tmp_path,
        circuits={"line": {"fluid": "water", "temperature": "20 C"}},
        stock=FAMILY,
        components={
            "near": {
                "kind": "source",
                "pressure": "1 bar",
                "ports": {"out": {"at": near, "points": "forward", "thread": "flare37 -6"}},
            },
            "far": {"kind": "open", "ports": {"in": {"at": far, "points": "back", "thread": "flare37 -6"}}},
        },
        runs={"P1": run("near.out", "far.in", "ptfe-braid -6", via=[], ends=["ptfe-braid -6 straight", "auto"])},
    )


@pytest.mark.parametrize(
    ("stock", "least", "larger"),
    [
        ("six", 0.0, "eight"),  # neither a thinner wall of its own dash, nor a larger dash that is narrower
        ("six thin", 0.0, "eight"),
        ("six", 0.012, "ten"),
        ("six", 0.020, None),
        ("ten", 0.0, None),
    ],
)
def test_the_next_size_is_a_larger_dash_with_a_wider_bore(plan, stock, least, larger):
    found = next_stock(plan.catalog, plan.catalog.stock(stock), least)
    assert (found.id if found else None) == larger


def test_a_run_made_up_in_another_size_has_ends_of_that_size(plan):
    changed, made = made_up_in(plan, "P1", plan.catalog.stock("ptfe-braid -8"))
    assert made.stock.id == "ptfe-braid -8"
    assert changed.runs["P1"].stock == "ptfe-braid -8"
    assert [end.fits for end in made.chosen if end is not None] == ["ptfe-braid -8", "ptfe-braid -8"]
    # The plan that was read stays as it is.
    assert plan.runs["P1"].stock == "ptfe-braid -6"
    assert assembly(plan, "P1").stock.id == "ptfe-braid -6"


def test_an_angle_that_the_plan_asks_for_stays(plan):
    run_ = plan.runs["P1"].model_copy(update={"ends": ("90 deg", "auto")})
    plan.runs["P1"] = run_
    _, made = made_up_in(plan, "P1", plan.catalog.stock("ptfe-braid -8"))
    assert made.chosen[0] is not None
    assert made.chosen[0].angle == pytest.approx(1.5708, abs=1e-3)
    assert made.chosen[0].fits == "ptfe-braid -8"
