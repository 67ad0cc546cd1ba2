"""Attitude presets: their figures, and a shop's own over them."""

import math

import pytest

from catalogs.attitudes import OPPOSITES, opposed
from catalogs.catalog import Catalog
from catalogs.errors import TableError
from catalogs.grades import Grade

G = 9.80665


@pytest.fixture
def shop(tmp_path):
    def shop(text, name="attitudes.toml"):
        (tmp_path / name).write_text(text, encoding="utf-8")
        return Catalog(tmp_path)

    return shop


@pytest.mark.parametrize(
    ("key", "figure", "grade"),
    [
        # MIL-C-62326B 3.3.4: a climb of 75 % and a side slope of 55 %.
        ("climb-75", {"nose_up": 0.75}, Grade.PUBLISHED),
        ("left-low-55", {"left_low": 0.55}, Grade.PUBLISHED),
        ("right-low-55", {"right_low": 0.55}, Grade.PUBLISHED),
        # Common practice, no source.
        ("descent-75", {"nose_down": 0.75}, Grade.PRACTICE),
        ("climb-60", {"nose_up": 0.60}, Grade.PRACTICE),
        ("descent-60", {"nose_down": 0.60}, Grade.PRACTICE),
        ("left-low-40", {"left_low": 0.40}, Grade.PRACTICE),
        ("right-low-40", {"right_low": 0.40}, Grade.PRACTICE),
    ],
)
def test_slopes_are_those_of_their_source(key, figure, grade):
    preset = Catalog().attitude(key)
    assert {k: math.tan(v) for k, v in preset.figures.items()} == pytest.approx(figure)
    assert (preset.lasts, preset.grade) == ("sustained", grade)


@pytest.mark.parametrize("key", ["forward", "braking", "turn_left", "turn_right"])
def test_an_acceleration_lasts_for_a_moment(key):
    # Common practice, no source.
    (preset,) = (p for p in Catalog().all("attitudes") if list(p.figures) == [key])
    assert preset.lasts == "transient"
    assert 0.3 * G < preset.figures[key] < 1.0 * G


def test_every_way_has_a_preset_of_its_own():
    ways = {key for preset in Catalog().all("attitudes") if len(preset.figures) == 1 for key in preset.figures}
    assert ways == {*OPPOSITES, *OPPOSITES.values()}


def test_a_shop_lays_its_own_over_them(shop):
    catalog = shop(
        '[climb-60]\nnose_up = "65 %"\nsource = "inclinometer"\ngrade = "measured"\n'
        '[ledge]\nlike = "climb-75"\nnose_up = "45 deg"\nlasts = "transient"\nsource = "seen"\ngrade = "measured"\n'
    )
    assert math.tan(catalog.attitude("climb-60").figures["nose_up"]) == pytest.approx(0.65)
    ledge = catalog.attitude("ledge")
    assert (ledge.lasts, ledge.figures) == ("transient", {"nose_up": pytest.approx(math.pi / 4)})
    assert ledge.means == catalog.attitude("climb-75").means


def test_a_shop_writes_them_in_a_spreadsheet_too(shop):
    text = "id,means,nose_up,lasts,source,grade\n,,%,,,\nramp,the trailer's ramp,30,sustained,by tape,measured\n"
    assert math.degrees(shop(text, "attitudes.csv").attitude("ramp").figures["nose_up"]) == pytest.approx(
        16.7, abs=0.05
    )


@pytest.mark.parametrize(
    ("line", "key", "message"),
    [
        ('nose_up = "-60 %"', "nose_up", "carries a sign"),
        ('nose_down = "30 %"', "nose_down", "stands beside nose_up, its opposite"),
        ('lasts = "always"', "lasts", '"always" is none of the choices'),
        ('forward = "0.5"', "forward", '"0.5" has no unit'),
    ],
)
def test_a_shops_slips_are_told(shop, line, key, message):
    with pytest.raises(TableError) as caught:
        shop(f'[climb-60]\nsource = "shop"\ngrade = "measured"\n{line}\n')
    (fault,) = caught.value.faults
    assert (fault.line, fault.table, fault.key, fault.message) == (4, "climb-60", key, message)


@pytest.mark.parametrize(
    ("written", "instead"),
    [
        ('nose_up = "-60 %"', 'nose_down = "60 %"'),
        ('left_low = "- 20 deg"', 'right_low = "20 deg"'),
        ('braking = "-0.5 g"', 'forward = "0.5 g"'),
        ('turn_right = " -1/2 g"', 'turn_left = "1/2 g"'),
    ],
)
def test_a_sign_is_answered_with_the_key_that_says_it(shop, written, instead):
    with pytest.raises(TableError) as caught:
        shop(f'[here]\nmeans = "x"\nlasts = "transient"\nsource = "shop"\ngrade = "measured"\n{written}\n')
    (fault,) = caught.value.faults
    assert fault.message == "carries a sign"
    assert fault.expected == f"{instead}: the key's own name says the direction"


def test_an_opposite_of_0_is_none():
    assert opposed({"nose_up": 0.5, "nose_down": 0.0, "forward": 1.0, "braking": 2.0}) == [("forward", "braking")]
