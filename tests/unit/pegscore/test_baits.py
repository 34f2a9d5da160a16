import math

import pytest

from pegscore.baits import find_baits, read_baits
from pegscore.errors import BaitsRefused, BaitUnknown

SHIPPED = read_baits()


def own(folder, text):
    (folder / "baits.toml").write_text(text, encoding="utf-8")
    return read_baits(folder)


@pytest.mark.parametrize("name", SHIPPED)
def test_every_shipped_bait_sinks_or_says_that_it_floats(name):
    settling = SHIPPED[name].settling()
    if settling.floats:
        assert math.isnan(settling.usual_m_s)
    else:
        assert 0 < settling.low_m_s < settling.usual_m_s < settling.high_m_s < 1.5


@pytest.mark.parametrize("name", SHIPPED)
def test_every_number_shipped_bears_a_mark(name):
    bait = SHIPPED[name]
    told = {key for key in ("size_mm", "density_kg_m3", "drag") if getattr(bait, key)}
    assert set(bait.marks) == told | ({"floats"} if bait.is_floating else set())


def test_crust_and_dark_casters_float_and_sinking_casters_do_not():
    assert [n for n in SHIPPED if SHIPPED[n].settling().floats] == [
        "caster_dark",
        "crust",
    ]


def test_a_bucket_test_overrides_what_is_computed(tmp_path):
    bait = own(tmp_path, "[maggot]\nsink_depth_m = 1.2\nsink_seconds = 12\n")["maggot"]
    settling = bait.settling()
    assert settling.basis == "bucket test"
    assert settling.usual_m_s == pytest.approx(0.1, rel=1e-12)
    assert settling.low_m_s == pytest.approx(0.09, rel=1e-12)
    assert bait.title == "maggot"
    assert bait.own


def test_a_bucket_test_sinks_even_what_is_said_to_float(tmp_path):
    text = "[crust]\nsink_depth_m = 1.0\nsink_seconds = [20.0, 25.0]\n"
    assert own(tmp_path, text)["crust"].settling().high_m_s == pytest.approx(0.05)


def test_a_club_adds_a_bait_of_its_own(tmp_path):
    text = "[paste]\nsize_mm=[8,10,12]\ndensity_kg_m3=[1050,1100,1150]\ndrag=[0.4,1.0]"
    paste = own(tmp_path, text)["paste"]
    assert paste.title == "paste"
    # free fall at constant drag: sqrt(4 * 0.1 * 9.81 * 0.01 / (3 * 0.632)) = 0.144
    assert paste.settling().usual_m_s == pytest.approx(0.14, abs=0.005)


def test_where_the_lightest_may_float_the_slow_end_is_unknown(tmp_path):
    text = "[caster]\ndensity_kg_m3 = [990, 1020, 1040]\n"
    settling = own(tmp_path, text)["caster"].settling()
    assert math.isnan(settling.low_m_s)
    assert settling.usual_m_s > 0


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[maggot]\nsize_m = [1, 2, 3]\n", "did you mean 'size_mm'"),
        ("[maggot]\nsize_mm = [5, 4, 3]\n", "from least to most"),
        ("[maggot]\ndensity_kg_m3 = [1.0, 1.1, 1.2]\n", "numbers from 500 to 3000"),
        ("[maggot]\nsink_seconds = 10\n", "both sink_depth_m and sink_seconds"),
        ("[maggot]\nfloats = 'yes'\n", "floats is 'yes'"),
        ("[paste]\ntitle = 'paste'\n", "size_mm and density_kg_m3 and drag missing"),
        ("maggot = 3\n", r"\[maggot\] is 3"),
        ("[maggot\n", "baits.toml: is not TOML"),
        ("[maggot]\nmarks = {drag = 'X'}\n", "marks is"),
    ],
)
def test_a_faulty_file_is_refused_with_the_value_and_a_way_out(tmp_path, text, said):
    with pytest.raises(BaitsRefused, match=said):
        own(tmp_path, text)


def test_every_fault_is_told_at_once(tmp_path):
    with pytest.raises(BaitsRefused) as refused:
        own(tmp_path, "[hemp]\ntitle = 3\n[maggot]\nsink_seconds = 0\n")
    assert len(str(refused.value).splitlines()) == 3


def test_an_unknown_bait_is_refused_with_the_nearest():
    with pytest.raises(BaitUnknown, match="did you mean 'maggot'"):
        find_baits(SHIPPED, ["magot"])


def test_a_bait_named_twice_is_shown_once():
    assert [b.name for b in find_baits(SHIPPED, ["Hemp", "hemp "])] == ["hemp"]
