"""Our seats, threads, sealing parts and adapters: published sizes, and that every id leads somewhere."""

import re

import pytest

from catalogs import units
from catalogs.catalog import Catalog
from catalogs.grades import Grade

INCH, MM = 0.0254, 0.001


@pytest.fixture(scope="module")
def catalog():
    return Catalog()


def si(text, dimension):
    return units.read(text, dimension).value


def threads_of(catalog, seat):
    return [thread for thread in catalog.all("threads") if thread.seat == seat]


def major(thread):
    """The outside of a thread by its own name: `M12 x 1.5`, `1 5/16-12 UN` [m]."""
    metric = re.match(r"M(\d+)", thread.thread)
    return float(metric[1]) * MM if metric else si(f"{thread.thread.rsplit('-', 1)[0]} in", "length")


# ---------------------------------------------------------------- sizes

# SAE J514 as printed in workshop manuals: thread, tube [in]; nut hex [in] of US Army TM 55-1520-240-23-1
# para. 1-13 and of implement manuals. The nuts of -2, -24 and -32 are from memory.
FLARE37 = {
    2: ("5/16-24", "1/8", "3/8"),
    3: ("3/8-24", "3/16", "7/16"),
    4: ("7/16-20", "1/4", "9/16"),
    5: ("1/2-20", "5/16", "5/8"),
    6: ("9/16-18", "3/8", "11/16"),
    8: ("3/4-16", "1/2", "7/8"),
    10: ("7/8-14", "5/8", "1"),
    12: ("1 1/16-12", "3/4", "1 1/4"),
    14: ("1 3/16-12", "7/8", "1 3/8"),
    16: ("1 5/16-12", "1", "1 1/2"),
    20: ("1 5/8-12", "1 1/4", "2"),
    24: ("1 7/8-12", "1 1/2", "2 1/4"),
    32: ("2 1/2-12", "2", "2 7/8"),
}


@pytest.mark.parametrize("dash", FLARE37)
def test_flare_sizes(catalog, dash):
    thread, tube, nut = FLARE37[dash]
    row = catalog.thread(f"flare37 -{dash}")
    assert row.thread.rsplit(" ", 1)[0] == thread
    assert row.tube == pytest.approx(si(f"{tube} in", "length"))
    assert row.hex == pytest.approx(si(f"{nut} in", "length"))
    assert row.grade_of("thread", "tube") is Grade.PUBLISHED
    assert row.grade_of("hex") is (Grade.MEMORY if dash in {2, 24, 32} else Grade.PUBLISHED)


def test_o_ring_ports_take_the_threads_of_the_flare_and_the_ring_of_their_dash(catalog):
    # The chart of SAE J1926-1 sizes: same threads as 37 deg flare. AS568, 900 series: the last two digits are
    # the tube size in sixteenths (US Navy engine course, chapter 7).
    rows = threads_of(catalog, "orb")
    assert {row.dash for row in rows} == set(FLARE37)
    for row in rows:
        assert row.thread == catalog.thread(f"flare37 -{row.dash}").thread
        assert row.ring == f"O-ring AS568-9{row.dash:02}"


def test_a_dash_is_the_tube_in_sixteenths(catalog):
    # FAA AMT Handbook, General, chapter 7.
    for row in catalog.all("threads"):
        if row.dash is not None and row.tube is not None:
            assert row.tube == pytest.approx(row.dash * INCH / 16), row.id


# ASME B1.20.1, as printed in five tables that agree: threads per inch, outside, effective thread L2 [in].
NPT = {
    "1/16": ("27", 0.3125, 0.2611),
    "1/8": ("27", 0.405, 0.2639),
    "1/4": ("18", 0.540, 0.4018),
    "3/8": ("18", 0.675, 0.4078),
    "1/2": ("14", 0.840, 0.5337),
    "3/4": ("14", 1.050, 0.5457),
    "1": ("11.5", 1.315, 0.6828),
    "1 1/4": ("11.5", 1.660, 0.7068),
    "1 1/2": ("11.5", 1.900, 0.7235),
}


@pytest.mark.parametrize("size", NPT)
def test_taper_pipe_threads(catalog, size):
    pitch, outside, effective = NPT[size]
    row = catalog.thread(f"npt {size}")
    assert row.thread == f"{size}-{pitch} NPT"
    said = [float(x) for x in re.findall(r"(\d\.\d+) in", row.note)]
    assert (said[0], said[2]) == (outside, effective)
    # L2 = (0.80 D + 6.8) / n, from memory of the standard; printed to four digits.
    assert said[2] == pytest.approx((0.80 * said[0] + 6.8) / float(pitch), abs=1e-4)
    assert said[1] < said[2]


def test_parallel_pipe_threads_have_the_depth_of_their_pitch(catalog):
    # ISO 228-1: depth = 0.640327 pitch; diameters printed to 0.001 mm.
    rows = threads_of(catalog, "bspp")
    assert len(rows) == 6
    for row in rows:
        outside, minor = (float(x) for x in re.findall(r"(\d+\.\d+) mm", row.note))
        pitch = 25.4 / float(row.thread.rsplit("-", 1)[1])
        assert (outside - minor) / 2 == pytest.approx(0.640327 * pitch, abs=0.001), row.id


def test_brake_nuts_of_inch_and_metric_do_not_share_a_thread(catalog):
    # Two published lists: 3/16 double flare 3/8-24, 1/4 double flare 7/16-24, bubble flare M10 x 1.0. The others
    # are from memory.
    known = {
        "inverted45 3/16": "3/8-24 UNF",
        "inverted45 1/4": "7/16-24 UNS",
        "bubble M10x1": "M10 x 1.0",
        "inverted45 5/16": "1/2-20 UNF",
        "inverted45 3/8": "5/8-18 UNF",
        "bubble M12x1": "M12 x 1.0",
    }
    rows = threads_of(catalog, "inverted45") + threads_of(catalog, "bubble")
    assert {row.id: row.thread for row in rows} == known
    for row in rows:
        published = row.id in list(known)[:3]
        assert row.grade_of("thread", "tube") is (Grade.PUBLISHED if published else Grade.MEMORY), row.id
        assert row.grade_of("hex") is Grade.MEMORY
        # A tube nut's hex is about as wide as its thread, and its thread goes over the tube.
        assert 0.95 * major(row) < row.hex < 1.2 * major(row), row.id
        assert row.tube < major(row), row.id


def test_a_bolt_of_a_banjo_is_wider_than_its_thread(catalog):
    for row in threads_of(catalog, "banjo"):
        assert 1.3 * major(row) < row.hex < 1.6 * major(row), row.id
        assert row.thread.replace(" ", "").startswith(row.id.removeprefix("banjo ")), row.id


# ---------------------------------------------------------------- seals


def test_rings_of_o_ring_ports_lie_in_the_range_of_their_series(catalog):
    # US Navy engine course, chapter 7: sections 1.42 to 3.0 mm, insides 0.185 to 2.337 in.
    for row in threads_of(catalog, "orb"):
        ring = catalog.seal(row.ring)
        assert 1.42 * MM < ring.section < 3.0 * MM + 1e-9, ring.id
        assert 0.185 * INCH < ring.inside <= 2.337 * INCH + 1e-9, ring.id
        # It lies in the chamfer round the thread, stretched a little over the thread's root.
        assert 0.75 < ring.inside / major(row) < 0.95, ring.id


def test_the_published_ring(catalog):
    # AS568-904 as printed; every other ring is from memory.
    ring = catalog.seal("O-ring AS568-904")
    assert (ring.inside, ring.section) == pytest.approx((0.351 * INCH, 0.072 * INCH))
    rings = [seal for seal in catalog.all("seals") if seal.sort == "o-ring"]
    assert [r.id for r in rings if r.grade is not Grade.MEMORY] == [ring.id]


def test_larger_ports_take_larger_rings(catalog):
    for seat in ("orb", "face-seal"):
        rings = [catalog.seal(row.ring) for row in threads_of(catalog, seat)]
        assert [r.inside for r in rings] == sorted({r.inside for r in rings})
        assert [r.section for r in rings] == sorted(r.section for r in rings)


def test_a_banjo_takes_two_washers_and_an_adapter_in_its_place_one(catalog):
    # Common practice, no source.
    for row in threads_of(catalog, "banjo"):
        washers, bolt = row.ring.split("; ")
        both, one = catalog.seal(washers), catalog.seal(f"face {washers}")
        assert (bolt, catalog.seal(bolt).each_joint) == (f"banjo {row.id.replace('banjo', 'bolt')}", 1)
        assert (both.sort, both.each_joint, one.each_joint) == ("washer", 2, 1), row.id
        assert (both.inside, both.section) == (one.inside, one.section)
        assert 0 < both.inside - major(row) < 0.5 * MM, row.id  # it goes over the bolt, with little play


def test_a_bonded_washer_goes_over_its_thread(catalog):
    for row in threads_of(catalog, "bspp"):
        outside = float(re.search(r"major (\d+\.\d+) mm", row.note)[1]) * MM
        washer = catalog.seal(row.ring)
        assert (row.ring, washer.each_joint) == (f"bonded washer {row.id.removeprefix('bspp ')}", 1)
        assert 0 < washer.inside - outside < 1 * MM, row.id


def test_only_clamps_and_bolts_are_used_again(catalog):
    for seal in catalog.all("seals"):
        assert seal.once == (seal.sort not in {"clamp", "bolt"}), seal.id
    for row in threads_of(catalog, "barb"):
        # A spigot of 8 mm takes hose of 5/16 in, which is 7.94 mm.
        assert row.ring == f"hose clamp {row.id.removeprefix('barb ').replace('8 mm', '5/16')}"
        assert (catalog.seal(row.ring).each_joint, catalog.seal(row.ring).grade) == (1, Grade.PRACTICE)


def test_what_seals_metal_on_metal_takes_no_part(catalog):
    bare = {row.seat for row in catalog.all("threads") if not row.ring}
    assert bare == {"flare37", "flare45", "inverted45", "bubble"}


# ---------------------------------------------------------------- what leads where


def parts_of(thread):
    return [part for part in thread.ring.split("; ") if part]


def test_every_id_that_a_row_names_stands_in_its_table(catalog):
    ids = {table: set(catalog.ids(table)) for table in ("stock", "threads", "seats", "seals")}
    metals = set(catalog.materials()) | {""}
    for end in catalog.all("ends"):
        assert end.fits in ids["stock"], end.id
        assert end.thread in ids["threads"], end.id
        assert end.made_of in metals, end.id
    for thread in catalog.all("threads"):
        assert thread.seat in ids["seats"], thread.id
        assert set(parts_of(thread)) <= ids["seals"], thread.id
    for adapter in catalog.all("adapters"):
        assert {adapter.port, adapter.offers} <= ids["threads"], adapter.id
        assert adapter.needs in ids["seals"] | {""}, adapter.id
        assert adapter.made_of in metals - {""}, adapter.id


def test_every_seal_is_for_some_joint(catalog):
    rings = {part for thread in catalog.all("threads") for part in parts_of(thread)}
    assert set(catalog.ids("seals")) == (rings | {a.needs for a in catalog.all("adapters")}) - {""}


def test_seats_mate_both_ways_and_never_37_with_45(catalog):
    seats = {seat.id: seat for seat in catalog.all("seats")}
    for seat in seats.values():
        assert seat.mates
        assert all(seat.id in seats[mate].mates for mate in seat.mates)
    assert not {"flare45", "inverted45", "bubble"} & set(seats["flare37"].mates)
    assert {thread.seat for thread in catalog.all("threads")} == set(seats)


def seal_of(port):
    """What an adapter in such a port needs."""
    own = {"npt": "thread sealant", "flare37": "", "inverted45": "", "bubble": ""}
    if port.seat == "banjo":
        return f"face {parts_of(port)[0]}"
    return own.get(port.seat, port.ring)


def test_adapters_join_two_threads_and_seal_as_their_port_asks(catalog):
    for adapter in catalog.all("adapters"):
        port, offers = catalog.thread(adapter.port), catalog.thread(adapter.offers)
        # A second metal of the same two is named for it.
        assert adapter.id in {f"{port.id} to {offers.id}{of}" for of in ("", f", {adapter.made_of}")}
        assert adapter.needs == seal_of(port), adapter.id
        assert offers.seat in {"flare37", "barb"}
        assert all(adapter.bore < tube for tube in (port.tube, offers.tube) if tube is not None), adapter.id
        if port.seat in {"banjo", "orb", "inverted45", "bubble"}:
            assert adapter.bore < 0.8 * major(port), adapter.id
        assert adapter.length > adapter.bore, adapter.id
        assert adapter.grade_of("length") is Grade.ILLUSTRATIVE


def test_the_bore_of_an_adapter_is_that_of_its_smaller_end(catalog):
    # From memory, MS33656: one bore for each size of 37 deg flare, whatever the other end.
    bore = {d: catalog.get("adapters", f"orb -{d} to flare37 -{d}").bore for d in (3, 4, 5, 6, 8, 10, 12, 16, 20)}
    assert list(bore.values()) == sorted(set(bore.values()))
    joined = [a for a in catalog.all("adapters") if a.offers.startswith("flare37") and a.port[:3] in {"orb", "fla"}]
    for adapter in (a for a in joined if a.port.startswith(("orb -", "flare37"))):
        dashes = [int(key.rsplit("-", 1)[1]) for key in (adapter.port, adapter.offers)]
        assert adapter.bore == bore[min(dashes)], adapter.id


@pytest.mark.parametrize("dash", [3, 4, 5, 6, 8, 10, 12, 16, 20])
def test_an_adapter_from_an_o_ring_port_is_found(catalog, dash):
    found = catalog.adapters_to(f"orb -{dash}", f"flare37 -{dash}")
    assert {a.needs for a in found} == {f"O-ring AS568-9{dash:02}"}
    # For brake lines in steel: they are of these two sizes.
    assert [a.made_of for a in found] == ["aluminium", *(["steel"] if dash <= 4 else [])]


@pytest.mark.parametrize(
    ("port", "offers"),
    [
        ("banjo M10x1", "flare37 -3"),
        ("banjo M12x1.5", "flare37 -4"),
        ("banjo M14x1.5", "flare37 -6"),
        ("banjo 3/8-24", "flare37 -3"),
        ("flange drain", "flare37 -10"),
        ("flange drain", "flare37 -8"),
        ("flange drain", "barb 5/8"),
        ("npt 3/8", "barb 3/8"),
        ("npt 1/2", "barb 5/8"),
        ("npt 3/4", "barb 3/4"),
        ("npt 1", "barb 1"),
        ("orb -12", "barb 3/4"),
        ("flare37 -6", "barb 3/8"),
        ("inverted45 3/16", "flare37 -3"),
        ("bubble M10x1", "flare37 -3"),
        ("orb-metric M10x1", "flare37 -3"),
        ("orb-metric M18x1.5", "flare37 -8"),
        ("flare45 1/2", "flare37 -8"),
        ("bspt 1/8", "flare37 -4"),
        ("orb -10", "flare37 -6"),
        ("flare37 -12", "flare37 -8"),
    ],
)
def test_the_usual_ways_out_of_a_component_stand_in_the_table(catalog, port, offers):
    assert [a.id for a in catalog.adapters_to(port, offers)] == [f"{port} to {offers}"]


@pytest.mark.parametrize("port", ["npt 1/8", "orb -3", "orb -4", "bspp 1/8"])
def test_the_ports_of_brake_lines_have_adapters_of_steel(catalog, port):
    # Steel is usual in brake fittings: common practice, no source.
    for dash in (3, 4):
        metals = {a.made_of: a for a in catalog.adapters_to(port, f"flare37 -{dash}")}
        assert set(metals) == {"aluminium", "steel"}
        assert (metals["steel"].bore, metals["steel"].length) == (metals["aluminium"].bore, metals["aluminium"].length)


# ISO 6149-1, from memory: thread, inside and cord of the ring [mm].
METRIC = {
    "M10x1": (8.1, 1.6),
    "M12x1.5": (9.3, 2.2),
    "M14x1.5": (11.3, 2.2),
    "M16x1.5": (13.3, 2.2),
    "M18x1.5": (15.3, 2.2),
    "M22x1.5": (19.3, 2.2),
}


@pytest.mark.parametrize("size", METRIC)
def test_metric_ports_take_the_ring_of_their_thread(catalog, size):
    row = catalog.thread(f"orb-metric {size}")
    ring = catalog.seal(row.ring)
    assert row.thread.replace(" ", "").removesuffix(".0") == size
    assert (ring.inside, ring.section) == pytest.approx([x * MM for x in METRIC[size]])
    assert row.grade is ring.grade is Grade.MEMORY
    assert 0.75 < ring.inside / major(row) < 0.95


def test_bonded_washers_and_the_gasket_of_a_drain_hold_rubber(catalog):
    # A bonded washer is a ring of rubber in one of metal: common practice, no source.
    for seal in catalog.all("seals"):
        rubber = seal.sort == "o-ring" or seal.id.startswith("bonded") or seal.id == "gasket drain flange"
        assert seal.of_rubber == rubber, seal.id
