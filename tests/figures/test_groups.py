"""Channel groups and their weights."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest

from qc.figures.groups import ChannelGroup, default_group, group_of, weights_of, why_no_group
from qc.figures.loudness import integrated
from qc.figures.peaks import true_peak
from qc.media.facts import FileFacts, SoundStream
from tests.kit.sound import series_of, table, tone, whole

WEIGHTS = table("bs-1770-5-channel-weights.csv")
LABELS = {layout: tuple(row["label"] for row in WEIGHTS if row["layout"] == layout) for layout in ("5.1", "7.1")}


def _facts(*streams: tuple[str | None, tuple[str, ...]]) -> FileFacts:
    sounds = tuple(
        SoundStream(
            index=index + 1,
            codec="PCM",
            channels=len(labels),
            layout=layout,
            labels=labels,
            language=None,
            title=None,
            rate=48_000,
            sample_format="s24",
            bit_depth=24,
            bit_rate=None,
            start=Fraction(0),
            duration=None,
        )
        for index, (layout, labels) in enumerate(streams)
    )
    return FileFacts("MOV", "qt", None, True, None, None, (), sounds, (), ())


@pytest.mark.parametrize("row", WEIGHTS, ids=lambda row: f"{row['layout']} {row['label']}")
def test_each_channel_has_its_weight(row: dict[str, str]) -> None:
    """ITU-R BS.1770-5, Annex 1 and Annex 3 Table 4: sides +1.5 dB, rears of 7.1 as the front, LFE not at all."""
    labels = LABELS[row["layout"]]
    x = np.zeros((5 * 48_000, len(labels)))
    x[:, int(row["position"])] = tone(5, -20.0, channels=1)[:, 0]
    weights = weights_of(labels)
    assert weights is not None
    assert weights[int(row["position"])] == float(row["weight"])
    sound = series_of(x, 48_000)
    group = ChannelGroup(row["layout"], tuple(range(len(labels))), weights)
    reading = integrated(sound, group, whole(sound))
    if row["lufs"]:
        assert reading.value == pytest.approx(float(row["lufs"]), abs=0.01)
    else:
        assert reading.value is None
        assert "silent" in reading.reason


def test_an_lfe_counts_in_the_true_peak() -> None:
    """ITU-R BS.1770-5: out of the loudness, in the peaks. A -0.5 dBFS tone in the LFE alone."""
    x = np.zeros((48_000, 6))
    x[:, 3] = tone(1, -0.5, hertz=60.0, channels=1)[:, 0]
    sound = series_of(x, 48_000)
    group = group_of("surround", range(1, 7), "5.1", LABELS["5.1"])
    peak = true_peak(sound, group, whole(sound))
    assert peak.value == pytest.approx(-0.5, abs=0.05)
    assert peak.channel == 3
    assert integrated(sound, group, whole(sound)).value is None


@pytest.mark.parametrize(
    ("labels", "weights"),
    [
        (("FL", "FR", "FC", "LFE", "BL", "BR"), (1.0, 1.0, 1.0, 0.0, 1.41, 1.41)),  # 5.1 with "back" surrounds
        (("FL", "FR", "FC", "LFE", "SL", "SR"), (1.0, 1.0, 1.0, 0.0, 1.41, 1.41)),
        (("L", "C", "R", "Ls", "Rs", "LFE"), (1.0, 1.0, 1.0, 1.41, 1.41, 0.0)),  # film order
        (("FL", "FR", "FC", "LFE", "BC", "SL", "SR"), (1.0, 1.0, 1.0, 0.0, 1.0, 1.41, 1.41)),  # 6.1
        (("FL", "FR", "FC", "LFE", "SL", "SR", "TFL", "TFR"), (1.0, 1.0, 1.0, 0.0, 1.41, 1.41, 1.0, 1.0)),
        (("L", "R", "C", "LFE", "Lrs", "Rrs", "Lss", "Rss"), (1.0, 1.0, 1.0, 0.0, 1.0, 1.0, 1.41, 1.41)),
        (("", "", ""), None),
        (("L", "R", "C", "LFE", "Ls", ""), None),
        (("L", "L"), None),
    ],
)
def test_weights_follow_the_labels(labels: tuple[str, ...], weights: tuple[float, ...] | None) -> None:
    """Order does not matter, labels do; an unknown or doubled label gives none, never a guess."""
    assert weights_of(labels) == weights


@pytest.mark.parametrize("layout", ["5.0", "5.1", "5.1(side)", "6.1", "7.1", "7.1(wide)", "5.1.4", "7.1.4", "22.2"])
def test_every_layout_the_decoder_names_has_weights(layout: str) -> None:
    """The probe's labels are known here; a 5.1 weighs the same whether its surrounds are called side or back."""
    import av

    from qc.media.trade_names import channel_labels

    names = [channel.name for channel in av.AudioLayout(layout).channels]
    weights = weights_of(channel_labels(names))
    assert weights is not None
    assert [weight == 0.0 for weight in weights] == [name.startswith("LFE") for name in names]
    assert weights.count(1.41) == 2


def test_a_declared_5_1_takes_the_file_s_order_where_it_is_labelled() -> None:
    """Six mono streams without labels follow the profile's L R C LFE Ls Rs; a labelled file its own order."""
    film = ("L", "C", "R", "Ls", "Rs", "LFE")
    assert group_of("mix", [1, 2, 3, 4, 5, 6], "5.1", film).weights == (1.0, 1.0, 1.0, 1.41, 1.41, 0.0)
    assert group_of("mix", [1, 2, 3, 4, 5, 6], "5.1", [""] * 6).weights == (1.0, 1.0, 1.0, 0.0, 1.41, 1.41)
    assert group_of("mix", [3, 4, 5, 6, 7, 8], "5.1", ["L", "R", *[""] * 6]).channels == (2, 3, 4, 5, 6, 7)


def test_discrete_channels_of_unknown_order_have_peaks_but_no_loudness() -> None:
    """No weight is guessed: the loudness says why it is missing, the peak is read."""
    group = group_of("stems", [1, 2, 3], "discrete", ["", "", ""])
    sound = series_of(tone(1, -20.0, channels=3), 48_000)
    reading = integrated(sound, group, whole(sound))
    assert reading.value is None
    assert "unknown order" in reading.reason
    assert true_peak(sound, group, whole(sound)).value == pytest.approx(-20.0, abs=0.1)


@pytest.mark.parametrize(
    ("streams", "channels", "weights"),
    [
        ([("stereo", ("L", "R"))], (0, 1), (1.0, 1.0)),
        ([(None, ("", ""))], (0, 1), (1.0, 1.0)),  # two channels weigh the same in either order
        ([("mono", ("C",))] * 8, (0, 1), (1.0, 1.0)),
        ([("mono", ("C",))], (0,), (1.0,)),
        ([("mono", ("C",)), ("stereo", ("L", "R"))], (1, 2), (1.0, 1.0)),
        ([("5.1", LABELS["5.1"]), ("stereo", ("L", "R"))], (0, 1, 2, 3, 4, 5), (1.0, 1.0, 1.0, 0.0, 1.41, 1.41)),
    ],
)
def test_the_default_group(
    streams: list[tuple[str | None, tuple[str, ...]]], channels: tuple[int, ...], weights: tuple[float, ...]
) -> None:
    """The first stream of two or more channels, else two monos as a pair, else the one mono."""
    facts = _facts(*streams)
    group = default_group(facts)
    assert group is not None
    assert (group.channels, group.weights) == (channels, weights)
    assert why_no_group(facts) == ""


@pytest.mark.parametrize(
    ("streams", "said"), [([], "no sound"), ([(None, ("",) * 6), ("stereo", ("L", "R"))], "order of the 6 channels")]
)
def test_no_default_group_has_a_reason(streams: list[tuple[str | None, tuple[str, ...]]], said: str) -> None:
    """A multi-channel stream of unknown order is not guessed and not stepped over."""
    facts = _facts(*streams)
    assert default_group(facts) is None
    assert said in why_no_group(facts)
