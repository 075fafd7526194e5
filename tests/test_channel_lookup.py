"""Channels by name, by carrier and by dial; what cannot be looked up is refused in words.

Expected carriers are typed; their documents stand in tests/published and test_channels.py.
"""

import dataclasses
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import listen
from listen.channels import (
    am_sound_on,
    band_from,
    by_name,
    by_picture,
    by_sound,
    channels,
    checked_mhz,
    citation,
    fm_band,
    heard_on,
    in_aeronautical_band,
    mhz_from,
    off_by_khz,
    plan,
    plans,
    system,
)
from listen.channels.tables import rows_of
from listen.errors import BadDial, BadTable, ListenError, UnknownChannel


def names(found):
    return [channel.name for channel in found]


def test_every_channel_is_found_by_its_own_name_in_either_case():
    for channel in channels():
        assert by_name(channel.name) is channel
        assert by_name(f" {channel.plan.upper()} : {channel.label.lower()} ") is channel


@pytest.mark.parametrize(
    ("mhz", "within_khz", "expected"),
    [
        # Japan 1 and cable 95 share their carriers; the IRC plan is 12.5 kHz above.
        (95.75, 150, ["us-cable-std:95", "jp-air:1", "us-cable-irc:95"]),
        (95.75, 12.5, ["us-cable-std:95", "jp-air:1", "us-cable-irc:95"]),
        (95.75, 12.4, ["us-cable-std:95", "jp-air:1"]),
        (95.7625, 150, ["us-cable-irc:95", "us-cable-std:95", "jp-air:1"]),
        (91.75, 0, ["au-air:3", "oirt-dk:R4", "cn-air:DS5"]),
        (107.75, 0, ["us-cable-std:97", "jp-air:3", "au-air:5"]),
        (87.75, 0, ["us-air:6", "us-cable-std:6", "it-vhf:C", "ar-air-n:6"]),
        (110.0, 150, []),
    ],
)
def test_all_channels_that_share_a_sound_carrier_are_given_nearest_first(mhz, within_khz, expected):
    assert names(by_sound(mhz, within_khz)) == expected


def test_one_sound_carrier_may_imply_two_pictures():
    # 91.75: Australia 86.25, OIRT and China 85.25; 107.75: 103.25 or Australia 102.25;
    # 87.75: 83.25 or Italy 82.25.
    pictures = {mhz: {c.picture_mhz for c in by_sound(mhz, 0)} for mhz in (91.75, 107.75, 87.75)}
    assert pictures == {91.75: {86.25, 85.25}, 107.75: {103.25, 102.25}, 87.75: {83.25, 82.25}}


def test_pictures_are_looked_up_likewise():
    assert names(by_picture(85.25, 0)) == ["oirt-dk:R4", "cn-air:DS5"]
    assert names(by_picture(85.25, 12.5)) == ["oirt-dk:R4", "cn-air:DS5", "us-cable-irc:6"]


def test_a_lookup_can_be_kept_to_some_plans():
    assert names(by_sound(107.75, 0, plans=["au-air", "JP-AIR"])) == ["jp-air:3", "au-air:5"]
    assert names(by_sound(107.75, 0, plans="au-air")) == ["au-air:5"]
    assert {h.channel.plan for h in heard_on(76, 108, plans=["au-air"])} == {"au-air"}
    assert {c.plan for c in channels(["nz-vhf", "id-vhf"])} == {"nz-vhf", "id-vhf"}


@given(mhz=st.floats(30, 900), within_khz=st.floats(0, 2000))
@settings(deadline=None)
def test_a_lookup_is_sorted_and_keeps_its_limit(mhz, within_khz):
    off = [abs(off_by_khz(mhz, c.sound_mhz)) for c in by_sound(mhz, within_khz)]
    assert off == sorted(off)
    assert all(khz <= within_khz for khz in off)
    inside = sum(abs(mhz - c.sound_mhz) * 1e3 < within_khz - 1e-3 for c in channels())
    assert len(off) >= inside


def test_offsets_are_measured_minus_nominal():
    assert off_by_khz(95.8, 95.75) == 50.0
    assert off_by_khz(95.7, 95.75) == -50.0
    assert str(off_by_khz(95.75 - 1e-12, 95.75)) == "0.0"


def test_a_dial_from_87_5_to_108_hears_these_sounds():
    # Typed from the carriers in the documents that test_channels.py names.
    heard = {(one.channel.name, one.dial_mhz) for one in heard_on(87.5, 108) if one.how == "sound"}
    assert heard == {
        *{("us-air:6", 87.75), ("ar-air-n:6", 87.75), ("it-vhf:C", 87.75)},
        *{("us-cable-std:6", 87.75), ("us-cable-std:95", 95.75)},
        *{("us-cable-std:96", 101.75), ("us-cable-std:97", 107.75)},
        *{("us-cable-hrc:6", 88.5042), ("us-cable-hrc:95", 94.5045)},
        *{("us-cable-hrc:96", 100.5048), ("us-cable-hrc:97", 106.5051)},
        *{("us-cable-irc:6", 89.7625), ("us-cable-irc:95", 95.7625)},
        *{("us-cable-irc:96", 101.7625), ("us-cable-irc:97", 107.7625)},
        *{("jp-air:1", 95.75), ("jp-air:2", 101.75), ("jp-air:3", 107.75)},
        *{("au-air:3", 91.75), ("au-air:4", 100.75), ("au-air:5", 107.75)},
        *{("oirt-dk:R4", 91.75), ("oirt-dk:R5", 99.75), ("cn-air:DS5", 91.75)},
        ("eu-ccir-cable:S03", 88.75),
    }


def test_pictures_in_the_dial_are_named_apart():
    pictures = {h.channel.name: h.dial_mhz for h in heard_on(87.5, 108) if h.how == "picture"}
    assert pictures == {
        **{"us-cable-std:95": 91.25, "us-cable-std:96": 97.25, "us-cable-std:97": 103.25},
        **{"us-cable-irc:95": 91.2625, "us-cable-irc:96": 97.2625, "us-cable-irc:97": 103.2625},
        **{"us-cable-hrc:95": 90.0045, "us-cable-hrc:96": 96.0048, "us-cable-hrc:97": 102.0051},
        **{"jp-air:1": 91.25, "jp-air:2": 97.25, "jp-air:3": 103.25},
        **{"au-air:4": 95.25, "au-air:5": 102.25},
        **{"oirt-dk:R5": 93.25, "eu-ccir-cable:S1": 105.25},
    }


@pytest.mark.parametrize(
    ("name", "band_mhz", "oscillator", "dial_mhz"),
    [
        # sound -/+ 21.4 MHz, twice the intermediate frequency of 10.7 MHz
        ("us-air:4", (87.5, 108), "below", 93.15),
        ("us-air:5", (87.5, 108), "below", 103.15),
        ("jp-cable:C13", (87.5, 108), "above", 92.35),
        ("us-cable-std:99", (87.5, 108), "above", 98.35),
        ("jp-air:3", (76, 90), "above", 86.35),
    ],
)
def test_images_are_heard_where_the_oscillator_puts_them(name, band_mhz, oscillator, dial_mhz):
    images = [one for one in heard_on(*band_mhz) if one.how == "image"]
    mine = [(i.dial_mhz, i.oscillator) for i in images if i.channel.name == name]
    assert mine == [(dial_mhz, oscillator)]
    other = {"above": "below", "below": "above"}[oscillator]
    assert all(i.oscillator == other for i in heard_on(*band_mhz, other) if i.how == "image")
    assert name not in {i.channel.name for i in heard_on(*band_mhz, other) if i.how == "image"}


def test_us_3_and_4_reach_only_the_lower_eastern_band():
    direct = {
        name: [
            band
            for band in ("region-1", "brazil", "oirt")
            if any(
                h.how == "sound" and h.channel.name == name
                for h in heard_on(fm_band(band).low_mhz, fm_band(band).high_mhz)
            )
        ]
        for name in ("us-air:3", "us-air:4")
    }
    assert direct == {"us-air:3": [], "us-air:4": ["oirt"]}


def test_am_sound_is_never_heard_but_named():
    # France band I and the 405-line channels, from 40 to 60 MHz.
    heard = heard_on(40, 60)
    assert {h.channel.sound for h in heard if h.how != "picture"} == {"FM"}
    assert names(am_sound_on(40, 60)) == [
        *(f"uk-vhf-405:{n}" for n in (1, 2, 3, 4)),
        *(f"fr-l-vhf:{n}" for n in (1, 2, 3, 4)),
    ]
    assert am_sound_on(87.5, 108) == ()


def test_the_band_of_aircraft_runs_from_108_to_137():
    inside = [mhz for mhz in (107.99, 108, 121.5, 137, 137.01) if in_aeronautical_band(mhz)]
    assert inside == [108, 121.5, 137]


def test_the_values_are_frozen():
    with pytest.raises(dataclasses.FrozenInstanceError, match="cannot assign"):
        by_name("us-air:6").sound_mhz = 1.0
    assert by_name("us-air:6").as_dict() == {
        **{"plan": "us-air", "channel": "6", "region": plan("us-air").region, "system": "M"},
        **{"low_mhz": 82.0, "high_mhz": 88.0, "picture_mhz": 83.25, "sound_mhz": 87.75},
        **{"spacing_mhz": 4.5, "sound": "FM", "source": "cfr-73.603; cfr-73.682"},
    }
    assert plan("eu-ccir-cable").as_dict() == {
        **{"plan": "eu-ccir-cable", "systems": ["B", "G"], "channels": 44},
        "region": "Western Europe and other System B countries",
    }


@pytest.mark.parametrize(
    ("look_up", "came", "says"),
    [
        (by_name, "us:6", r"no plan is called 'us': did you mean us-air, us-cable-std"),
        (by_name, "japan:1", r"did you mean jp-air or jp-cable\?"),
        (by_name, "xyzzy:1", r"no plan is called 'xyzzy': `listen channels` lists the plans"),
        (by_name, "us-air", r"write the channel behind the plan, such as us-air:2"),
        (by_name, "us-air:", r"write the channel behind the plan, such as us-air:2"),
        (by_name, "R4", r"'R4' is no full name .* such as oirt-dk:R4"),
        (by_name, "6", r"such as us-air:6, .* \(and 11 more plans have it\)"),
        (by_name, "japan", r"such as us-air:6; did you mean jp-air or jp-cable\?"),
        (by_name, "au-air4", r"'au-air4' is no full name .*: did you mean au-air:4\?$"),
        (by_name, "oirt-dk r4", r"did you mean oirt-dk:R4\?$"),
        (by_name, "", r"write plan and channel, such as us-air:6"),
        (by_name, "au-air:3A", r"au-air has no channel '3A': .* near it are 3, 63, 5A"),
        (by_name, "oirt-dk:4", r"it has R1, R2, R3, R4, .* R12; `listen channels oirt-dk`"),
        (by_name, "us-air:1", r"82 channels from 2 to 83; near it are 2, 3, 4;"),
        (by_name, "au-air:24", r"near it are 28, 29, 30;"),
        (plan, "au-air:5", r"'au-air:5' is a channel; its plan is au-air: give that"),
        (plan, "u-air", r"did you mean au-air, au-air-2001, us-air or jp-air\?"),
        (channels, "us-cabel-std", r"did you mean us-cable-std"),
        (system, "X", r"no television system is called 'X': there are M, J, N, B"),
        (fm_band, "mars", r"no FM band is called 'mars': there are united-states"),
        (citation, "nowhere", r"no source is called 'nowhere'"),
    ],
)
def test_an_unknown_name_is_answered_with_what_would_have_worked(look_up, came, says):
    with pytest.raises(UnknownChannel, match=says) as refused:
        look_up(came)
    assert isinstance(refused.value, ListenError)


@pytest.mark.parametrize(
    ("mhz", "says"),
    [
        (95750, r"95750 MHz came: that looks like kHz, did you mean 95\.75 MHz\?"),
        (95_750_000, r"95750000 MHz came: that looks like Hz, did you mean 95\.75 MHz\?"),
        (0.09575, r"looks like GHz, did you mean 95\.75 MHz\?"),
        (0, "give a number in MHz between 1 and 1000, such as 95.75"),
        (-95.75, r"-95\.75 MHz came: give a number"),
        (float("nan"), "nan MHz came: give a number"),
        (float("inf"), "inf MHz came: give a number"),
        (5000, "lie between 1 and 1000 MHz, so give it in MHz"),
    ],
)
def test_an_absurd_frequency_is_refused_with_the_likely_slip(mhz, says):
    for look_up in (checked_mhz, by_sound, by_picture, in_aeronautical_band):
        with pytest.raises(BadDial, match=says):
            look_up(mhz)
    with pytest.raises(BadDial, match=says):
        heard_on(mhz, 108)


def test_what_cannot_be_searched_is_refused():
    with pytest.raises(BadDial, match=r"a band from 108 to 87\.5 MHz came: give the low end first"):
        heard_on(108, 87.5)
    with pytest.raises(BadDial, match="within -1 kHz came: give a width"):
        by_sound(95.75, -1)
    with pytest.raises(BadDial, match="within nan kHz came: give a width"):
        by_picture(95.75, float("nan"))
    with pytest.raises(BadDial, match="an oscillator 'up' came: write above or below"):
        heard_on(87.5, 108, "up")


@pytest.mark.parametrize("typed", ["95.75", "95,75", " 95.75 MHz ", "95.75mhz", "+95.75"])
def test_a_typed_frequency_may_have_a_comma_and_a_unit(typed):
    assert mhz_from(typed) == 95.75


@pytest.mark.parametrize("typed", ["87.5-108", "87,5 - 108", "87.5–108 MHz", "87.5 MHz-108 MHz"])
def test_a_typed_band_has_two_ends(typed):
    assert band_from(typed) == (87.5, 108.0)


@pytest.mark.parametrize(
    ("read", "typed", "says"),
    [
        (mhz_from, "", "'' came: give one number in MHz"),
        (mhz_from, "95.75.1", "give one number in MHz"),
        (mhz_from, "95.75 kHz", "give one number in MHz"),
        (mhz_from, "95750", "did you mean 95.75 MHz"),
        (mhz_from, "nan", "nan MHz came: give a number"),
        (mhz_from, "1e400", "inf MHz came: give a number"),
        (band_from, "87.5", "a band of '87.5' came: give its two ends in MHz, such as 87.5-108"),
        (band_from, "fm", "give its two ends in MHz"),
        (band_from, "108-87.5", "give the low end first"),
        (band_from, "87500-108000", "looks like kHz, did you mean 87.5 MHz"),
    ],
)
def test_what_is_typed_wrong_is_refused(read, typed, says):
    with pytest.raises(BadDial, match=says):
        read(typed)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("a,b\nx,eighty\n", r"t\.csv:2: could not convert .* in the row: x,eighty"),
        ("# about\na,b\nx,1\ny\n", r"t\.csv:4: .*shorter.* in the row: y"),
        ("a,b\nx,1,2\n", r"t\.csv:2: .*longer.* in the row: x,1,2"),
        ("a,b\n", r"t\.csv has no rows"),
    ],
)
def test_a_broken_row_is_named_with_its_line(text, says):
    with pytest.raises(BadTable, match=says):
        rows_of(text, "t.csv", lambda *cells: cells, (str, float))


def test_the_tables_are_read_once_and_shared():
    assert channels() is channels()
    assert plans() is plans()


def test_the_tables_are_read_from_a_zip_file_too(tmp_path):
    home = Path(listen.__file__).parent
    packed = tmp_path / "packed.zip"
    with zipfile.ZipFile(packed, "w") as archive:
        for path in sorted(home.rglob("*")):
            if path.suffix in (".py", ".csv"):
                archive.write(path, Path("listen") / path.relative_to(home))
    code = (
        "import sys; sys.path.insert(0, sys.argv[1])\n"
        "from listen.channels import by_name, channels, fm_bands, systems\n"
        "import listen\n"
        "assert sys.argv[1] in listen.__file__\n"
        "print(len(channels()), len(systems()), len(fm_bands()), by_name('us-air:6').sound_mhz)\n"
    )
    ran = subprocess.run(
        [sys.executable, "-I", "-c", code, str(packed)],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=False,
    )
    assert (ran.stdout, ran.stderr) == ("1268 12 12 87.75\n", "")
