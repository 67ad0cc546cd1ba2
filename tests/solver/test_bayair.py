"""What air gives to a hose: against a worked example and another library's properties of air."""

import numpy as np
import pytest

from catalogs.catalog import Catalog
from solver.bayair import transfer

AIR = Catalog().fluid("air")


def given(outside, wall, air, speed, pressure, emissivity):
    return float(transfer(AIR, *(np.array(x) for x in (outside, wall, air, speed, pressure)), emissivity=emissivity))


def test_the_example_of_a_steam_line_in_a_room():
    # Incropera and DeWitt, Fundamentals of Heat and Mass Transfer, example 9.4, from memory: a pipe of 0.1 m at 165 C
    # in air and walls of 23 C, emissivity 0.85, loses 766 W for each metre. Its k and nu have three figures.
    loss = given(0.1, 438.0, 296.0, 0.0, 101325.0, 0.85) * np.pi * 0.1 * (165 - 23)
    assert loss == pytest.approx(766.0, rel=5e-3)


@pytest.mark.parametrize(
    ("state", "by_ht"),
    [
        ((0.0145, 308.15, 343.15, 0.0, 101325.0, 0.9), 14.8553),
        ((0.0145, 308.15, 343.15, 5.0, 101325.0, 0.9), 70.4723),
        ((0.0175, 313.15, 363.15, 0.0, 80000.0, 0.9), 15.0333),
    ],
)
def test_hoses_in_an_engine_bay(state, by_ht):
    # Computed by hand with the laws of ht 1.2.0 and the properties of CoolProp 8.0.0; the table of air is rounded to
    # four figures.
    assert given(*state) == pytest.approx(by_ht, rel=1e-3)


def test_air_as_warm_as_the_hose_still_radiates_to_it():
    exact = 4 * 0.9 * 5.670374419e-8 * 300.0**3
    bare = given(0.015, 300.0, 300.0, 0.0, 101325.0, 0.9) - exact
    # 0.36 k/D is what is left of the law of still air without any rise.
    assert bare == pytest.approx(0.36 * 0.02637 / 0.015, rel=1e-3)
