"""What meets at a port: seats and threads held against the standards that give them, sealing parts counted by hand."""

import itertools

import pytest
from writing import text_of

from catalogs.catalog import Catalog
from lines.joints import belong, best_threads, joint, plain
from lines.plan import PortTable

OURS = Catalog()


def meet(port, end, catalog=OURS, **facts):
    return joint(catalog, "a.out", PortTable(thread=port), end, **facts)


def with_rows(folder, **tables):
    """Our tables with a shop's rows over them."""
    told = {"source": "invented for a test", "grade": "illustrative"}
    for table, rows in tables.items():
        text = (
            text_of({table: {key: told | row for key, row in rows.items()}})
            .replace("schema = 1\n", "")
            .replace(f"[{table}.", "[")
        )
        (folder / f"{table}.toml").write_text(text, encoding="utf-8")
    return Catalog(folder)


# ---------------------------------------------------------------- what does not belong together


@pytest.mark.parametrize(
    ("port", "end", "says"),
    [
        # SAE J514 -4 and SAE J512 1/4 in share 7/16-20: the cones are 37 and 45 deg.
        ("flare37 -4", "flare45 1/4", ("7/16-20 UNF thread starts", "cone", "leaks")),
        # Published lists of brake tube nuts: a 3/8-24 nut starts in an M10x1 port and strips.
        ("bubble M10x1", "inverted45 3/16", ("3/8-24", "M10x1", "strips", "bubble flare")),
        ("banjo M10x1", "banjo 3/8-24", ("3/8-24", "strips")),
        # ASME B1.20.1: 60 deg. ISO 228-1: 55 deg.
        ("npt 1/2", "bspp 1/2", ("60 deg", "55 deg")),
        # ISO 7-1, from memory: 55 deg too.
        ("npt 1/2", "bspt 1/2", ("60 deg", "55 deg")),
        ("bspp 1/4", "bspt 1/4", ("parallel", "tapers")),
        # SAE J1926-1 in inch, ISO 6149-1 in metric: from memory.
        ("orb -8", "orb-metric M18x1.5", ("inch", "metric")),
        ("bspp 1/4", "npt 1/4", ("60 deg", "55 deg")),
        # A raised cone wants a double flare, a flat bottom a bubble: common practice, no source.
        ("inverted45 3/16", "flare37 -6", ("raised cone", "double-flare seat", "adapter from 37 deg")),
        ("bubble M12x1", "flare37 -6", ("bottom", "bubble-flare seat")),
        ("inverted45 3/16", "flare45 3/16", ("3/8-24 UNF thread starts", "raised cone")),
        # In 3/8 in SAE J512 has 5/8-18 and SAE J514 9/16-18, from memory.
        ("flare37 -6", "flare45 3/8", ("5/8-18", "9/16-18", "cone")),
        # One seat in two sizes.
        ("flare37 -4", "flare37 -16", ("7/16-20", "1 5/16-12", "no reducer")),
        # Nothing in the table of mix-ups speaks of these two.
        ("flange drain", "npt 1/2", ("flange", "NPT", "1/2-14 NPT")),
    ],
)
def test_what_does_not_belong_together_says_why(port, end, says):
    found = meet(port, end)
    assert (found.fits, found.adapter, found.seals) == (False, None, ())
    assert [word for word in says if word not in found.clash] == []


# SAE J514 and SAE J512: the two flares share a thread in 3/16, 1/4, 5/16, 1/2 and 5/8 in, published in lists of them;
# not in 3/8 and 3/4 in, from memory.
SHARED = {"3/16": 3, "1/4": 4, "5/16": 5, "1/2": 8, "5/8": 10}


@pytest.mark.parametrize(("inch", "dash"), [*SHARED.items(), ("3/8", 6), ("3/4", 12)])
def test_the_two_flares_of_a_tube_share_a_thread_where_the_standards_do(inch, dash):
    found = meet(f"flare37 -{dash}", f"flare45 {inch}")
    assert found.fits is False
    assert ("thread starts, but a 37 deg cone meets a 45 deg one" in found.clash) == (inch in SHARED)


def test_an_end_straight_on_its_own_size_has_no_clash():
    for key in OURS.ids("threads"):
        found = meet(key, key)
        assert (found.fits, found.adapter, found.clash) == (True, None, ""), key


def test_a_clash_is_said_exactly_where_nothing_joins_the_two():
    for port, end in itertools.product(OURS.ids("threads")[::3], OURS.ids("threads")[::2]):
        found = meet(port, end)
        assert bool(found.clash) == (not found.fits), (port, end)
        assert found.fits == (found.adapter is not None or belong(OURS, found.port_thread, found.end_thread))


def test_seats_that_mate_still_need_one_thread_and_one_tube(tmp_path):
    rows = {
        "bubble M10x1 5 mm": {"seat": "bubble", "thread": "M10x1", "tube": "5 mm"},
        "bubble M10x1 4.75 mm": {"seat": "bubble", "thread": "M10 x 1", "tube": "4.75 mm"},
    }
    catalog = with_rows(tmp_path, threads=rows)
    # 3/16 in is 4.76 mm: one tube with 4.75 mm, not with 5 mm.
    assert meet("bubble M10x1", "bubble M10x1 4.75 mm", catalog).fits is True
    assert meet("bubble M10x1", "bubble M10x1 5 mm", catalog).fits is False


def test_a_bubble_nut_comes_with_its_warning():
    # Published lists of brake tube nuts: a nut with an unthreaded lead does not exchange with a fully threaded one.
    assert "unthreaded lead" in meet("bubble M10x1", "bubble M10x1").mixups[0].why


@pytest.mark.parametrize(("port", "end"), [("", "flare37 -6"), ("flare37 -6", None), ("", None)])
def test_what_is_not_known_neither_fits_nor_clashes(port, end):
    found = meet(port, end)
    assert (found.fits, found.clash, found.seals) == (None, "", ())


def test_threads_are_compared_without_class_and_spelling():
    assert plain("M10 x 1.0") == plain("M10x1") != plain("M10 x 1.25")
    assert plain("3/4-16 UNF") == plain("3/4-16 UN") != plain("1 3/4-16 UN")


def test_every_row_of_the_mixups_names_things_that_exist():
    threads = list(OURS.all("threads"))
    families = {fluid.family for fluid in OURS.all("fluids")}
    known = {*OURS.ids("seats"), *OURS.ids("threads"), *(t.thread for t in threads)}
    known |= {f"metal:{name}" for name in OURS.materials()} | {f"fluid:{family}" for family in families}
    known |= {f"attaches:{way}" for way in ("crimped", "reusable", "push-on", "flared", "clamped")}
    assert [name for row in OURS.mixups() for name in (row.a, row.b) if name not in known] == []


# ---------------------------------------------------------------- adapters


def test_an_adapter_joins_a_raised_cone_and_a_37_deg_flare():
    found = meet("inverted45 3/16", "flare37 -3")
    assert (found.fits, found.clash, found.adapter.id) == (True, "", "inverted45 3/16 to flare37 -3")


def test_of_two_adapters_the_wider_goes_in(tmp_path):
    wide = {"port": "orb -8", "offers": "flare37 -6", "means": "bored out", "bore": "8 mm"}
    catalog = with_rows(tmp_path, adapters={"bored out": wide})
    assert meet("orb -8", "flare37 -6").adapter.id == "orb -8 to flare37 -6"
    assert meet("orb -8", "flare37 -6", catalog).adapter.id == "bored out"


@pytest.mark.parametrize(
    ("family", "adapter"),
    [
        # Aluminium threads are soft for brake pressure, steel is usual: common practice, no source.
        ("brake", "npt 1/8 to flare37 -3, steel"),
        # Alcohol rusts steel and eats bare aluminium, from memory: neither is good, the first of the two goes in.
        ("alcohol", "npt 1/8 to flare37 -3"),
        ("", "npt 1/8 to flare37 -3"),
    ],
)
def test_an_adapter_whose_metal_stands_the_fluid_goes_in(family, adapter):
    assert meet("npt 1/8", "flare37 -3", family=family).adapter.id == adapter


def test_a_good_metal_goes_before_a_wide_bore(tmp_path):
    own = {"port": "orb -8", "offers": "flare37 -6", "means": "x"}
    rows = {
        "wide": own | {"bore": "9 mm", "made_of": "brass"},
        "sound": own | {"bore": "5 mm", "made_of": "stainless"},
    }
    catalog = with_rows(tmp_path, adapters=rows)
    # Alcohol takes zinc out of brass and stainless stands it, from memory.
    assert meet("orb -8", "flare37 -6", catalog, family="alcohol").adapter.id == "sound"
    # Both stand coolant, and the wider goes in.
    assert meet("orb -8", "flare37 -6", catalog, family="coolant").adapter.id == "wide"


def test_every_pair_of_flares_that_share_a_thread_has_its_adapter():
    for inch, dash in [*SHARED.items(), ("3/8", 6), ("3/4", 12)]:
        assert meet(f"flare45 {inch}", f"flare37 -{dash}").adapter.id == f"flare45 {inch} to flare37 -{dash}"


def test_hose_of_5_16_in_goes_over_a_spigot_of_8_mm():
    # 5/16 in is 7.94 mm.
    found = meet("barb 8 mm", "barb 5/16")
    assert (found.fits, found.seals) == (True, (("hose clamp 5/16", 1),))


@pytest.mark.parametrize(("port", "end"), [("npt 1/8", "bubble M10x1"), ("inverted45 3/16", "bubble M10x1")])
def test_a_mixup_reads_alike_from_both_sides(port, end):
    one, other = meet(port, end), meet(end, port)
    assert [row.why for row in one.mixups] == [row.why for row in other.mixups] != []


# ---------------------------------------------------------------- sealing parts


@pytest.mark.parametrize(
    ("port", "end", "parts"),
    [
        # SAE J1926-1 and AS568: the last two digits are the tube in sixteenths.
        ("orb -8", "flare37 -8", (("O-ring AS568-908", 1),)),
        ("orb -8", "orb -8", (("O-ring AS568-908", 1),)),
        ("orb -12", "flare37 -10", (("O-ring AS568-912", 1),)),
        # One washer on each side of a banjo: common practice, no source.
        ("banjo M10x1", "banjo M10x1", (("washer M10", 2), ("banjo bolt M10x1", 1))),
        # An adapter into the tapped face goes without the bolt, on one washer: common practice, no source.
        ("banjo M10x1", "flare37 -3", (("face washer M10", 1),)),
        # ISO 6149-1 M14x1.5, from memory.
        ("orb-metric M14x1.5", "flare37 -6", (("O-ring 11.3 x 2.2", 1),)),
        # A taper seals on its thread: ASME B1.20.1 with a sealant.
        ("npt 1/8", "flare37 -4", (("thread sealant", 1),)),
        # Metal to metal: SAE J514, SAE J533.
        ("flare37 -8", "flare37 -8", ()),
        ("flare37 -8", "flare37 -6", ()),
        ("inverted45 3/16", "inverted45 3/16", ()),
        ("barb 1/2", "barb 1/2", (("hose clamp 1/2", 1),)),
    ],
)
def test_sealing_parts_are_counted(port, end, parts):
    assert meet(port, end).seals == parts


def test_a_push_on_hose_takes_no_clamp():
    assert meet("barb 1/2", "barb 1/2", attaches="push-on").seals == ()


def test_both_sides_of_an_adapter_count(tmp_path):
    rows = {
        "both": {
            "port": "orb -8",
            "offers": "face-seal -8",
            "bore": "10 mm",
            "means": "x",
            "needs": "O-ring AS568-908",
        },
        "own": {"port": "orb -6", "offers": "orb -8", "bore": "7 mm", "means": "x"},
    }
    catalog = with_rows(tmp_path, adapters=rows)
    # SAE J1453 -8 takes AS568-014, from memory; a port takes its ring whether or not the adapter's row says so.
    assert meet("orb -8", "face-seal -8", catalog).seals == (("O-ring AS568-908", 1), ("O-ring AS568-014", 1))
    assert meet("orb -6", "orb -8", catalog).seals == (("O-ring AS568-906", 1), ("O-ring AS568-908", 1))


def test_a_shops_own_words_are_counted_too(tmp_path):
    threads = {
        "banjo M8": {"seat": "banjo", "thread": "M8 x 1.25", "ring": "2 copper washers 8 mm"},
        "own": {"seat": "flange", "thread": "own", "ring": "washer M10; paper gasket"},
    }
    catalog = with_rows(tmp_path, threads=threads)
    assert meet("banjo M8", "banjo M8", catalog).seals == (("copper washers 8 mm", 2),)
    assert meet("own", "own", catalog).seals == (("washer M10", 2), ("paper gasket", 1))


# ---------------------------------------------------------------- which of a stock's threads serves a port


@pytest.mark.parametrize(
    ("port", "offered", "best"),
    [
        ("flare37 -6", ["orb -6", "flare37 -6", "flare37 -6"], ["flare37 -6"]),
        ("orb -6", ["banjo M10x1", "flare37 -6", "flare37 -8"], ["flare37 -6", "flare37 -8"]),
        ("flange drain", ["npt 1/8", "flare45 3/16"], ["npt 1/8", "flare45 3/16"]),
        ("", ["flare37 -6", "orb -6"], ["flare37 -6", "orb -6"]),
        ("orb -6", [], []),
    ],
)
def test_straight_on_is_best_then_by_an_adapter(port, offered, best):
    assert best_threads(OURS, PortTable(thread=port), offered) == best
