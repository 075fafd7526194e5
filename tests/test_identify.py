"""Channels that fit a measured sound carrier, against published carriers.

Picture and sound of each channel are typed here from: 47 CFR 73.603 and 73.682 (US), the
Japanese, Australian, OIRT, Chinese and CCIR plans as published by the ITU and broadcasters'
handbooks, 47 CFR 76.612 (cable, HRC comb); the letters of the Italian plan from memory.
"""

import pytest

from listen.analysis.identify import WITHIN_KHZ, agreed_spacing_mhz, fitting_channels
from listen.channels import by_name, channels

# name: (picture, sound)
PUBLISHED = {
    "us-air:6": (83.25, 87.75),
    "it-vhf:C": (82.25, 87.75),
    "us-cable-hrc:6": (84.0042, 88.5042),
    "eu-ccir-cable:S03": (83.25, 88.75),
    "au-air:3": (86.25, 91.75),
    "oirt-dk:R4": (85.25, 91.75),
    "us-cable-hrc:95": (90.0045, 94.5045),
    "jp-air:1": (91.25, 95.75),
    "us-cable-std:95": (91.25, 95.75),
    "oirt-dk:R5": (93.25, 99.75),
    "us-cable-hrc:96": (96.0048, 100.5048),
    "au-air:4": (95.25, 100.75),
    "jp-air:2": (97.25, 101.75),
    "us-cable-std:96": (97.25, 101.75),
    "jp-air:3": (103.25, 107.75),
    "us-cable-std:97": (103.25, 107.75),
    "au-air:5": (102.25, 107.75),
}


def fitting(sound_mhz, half_khz=10.0, plans=None):
    interval_mhz = (sound_mhz - half_khz / 1e3, sound_mhz + half_khz / 1e3)
    return fitting_channels(sound_mhz, interval_mhz, plans)


def names(found):
    return {f"{c.plan}:{c.channel}" for c in found}


@pytest.mark.parametrize("off_khz", [-100.0, -20.0, 0.0, 60.0, 150.0])
@pytest.mark.parametrize("name", PUBLISHED)
def test_a_console_near_a_channel_is_given_that_channel(name, off_khz):
    picture_mhz, sound_mhz = PUBLISHED[name]
    found = {f"{c.plan}:{c.channel}": c for c in fitting(sound_mhz + off_khz / 1e3)}
    assert found[name].sound_mhz == pytest.approx(sound_mhz, abs=1e-4)
    assert found[name].picture_mhz == pytest.approx(picture_mhz, abs=1e-4)
    assert found[name].off_by_khz == pytest.approx(off_khz, abs=0.1)  # measured minus nominal


@pytest.mark.parametrize("name", PUBLISHED)
def test_beyond_the_widened_interval_it_is_not(name):
    _, sound_mhz = PUBLISHED[name]
    for side in (-1, 1):
        beyond_mhz = sound_mhz + side * (WITHIN_KHZ + 10.0 + 0.5) / 1e3
        assert name not in names(fitting(beyond_mhz))
        assert name in names(fitting(beyond_mhz, half_khz=11.0))  # a wider interval reaches it


@pytest.mark.parametrize(
    "sound_mhz, wanted",
    [
        (87.75, {"us-air:6", "it-vhf:C"}),
        (91.75, {"au-air:3", "oirt-dk:R4"}),
        (107.75, {"jp-air:3", "us-cable-std:97", "au-air:5"}),
    ],
)
def test_ambiguous_carriers_name_all_that_share_them_and_no_spacing(sound_mhz, wanted):
    found = fitting(sound_mhz)
    assert wanted <= names(found)
    assert agreed_spacing_mhz(found) is None


@pytest.mark.parametrize(
    "sound_mhz, spacing_mhz", [(100.76, 5.5), (99.74, 6.5), (95.75, 4.5), (101.7, 4.5)]
)
def test_channels_that_agree_give_their_spacing(sound_mhz, spacing_mhz):
    assert agreed_spacing_mhz(fitting(sound_mhz)) == pytest.approx(spacing_mhz, abs=1e-4)


def test_both_plans_12_5_khz_apart_are_listed():
    # 47 CFR 76.612: IRC carriers lie 12.5 kHz above the standard ones in this band.
    found = {f"{c.plan}:{c.channel}": c for c in fitting(95.7625)}
    assert found["us-cable-irc:95"].off_by_khz == pytest.approx(0, abs=0.1)
    assert found["us-cable-std:95"].off_by_khz == pytest.approx(12.5, abs=0.1)


def test_the_nearest_comes_first():
    away = [abs(c.off_by_khz) for c in fitting(100.6)]
    assert len(away) >= 2
    assert away == sorted(away)


def test_a_lopsided_interval_reaches_as_far_as_it_goes_on_each_side():
    def has_au_4(low_mhz, high_mhz):
        return "au-air:4" in names(fitting_channels(100.50, (low_mhz, high_mhz), None))

    assert has_au_4(100.49, 100.61)
    assert not has_au_4(100.39, 100.59)  # 100.59 + 0.15 ends short of 100.75


def test_am_sound_is_never_a_channel():
    # Systems A, C, E, F and L send amplitude-modulated sound: an FM radio hears no tune there.
    silent = [c for c in channels() if c.sound != "FM"]
    assert {c.system for c in silent} >= {"L"}
    for channel in silent:
        assert f"{channel.plan}:{channel.label}" not in names(fitting(channel.sound_mhz))


def test_only_the_plans_asked_for():
    assert {c.plan for c in fitting(107.75, plans=("au-air",))} == {"au-air"}
    assert names(fitting(107.75, plans=("au-air",))) == {"au-air:5"}
    assert agreed_spacing_mhz(fitting(107.75, plans=("au-air",))) == pytest.approx(5.5)


def test_where_no_channel_is_there_is_none():
    assert fitting(97.0) == ()
    assert agreed_spacing_mhz(()) is None


def test_every_fm_channel_of_the_tables_finds_itself():
    for channel in channels():
        if channel.sound == "FM":
            found = fitting(by_name(f"{channel.plan}:{channel.label}").sound_mhz, half_khz=0.0)
            assert f"{channel.plan}:{channel.label}" in names(found)
