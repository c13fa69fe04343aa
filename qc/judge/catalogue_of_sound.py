"""Checks of the sound."""

from __future__ import annotations

from qc.judge.check import Check

_BS1770 = "ITU-R BS.1770-5 (2023), Annex 1: K-weighting, gates at -70 LKFS and -10 LU, channel weights"
_TECH3341 = "EBU Tech 3341 (2023): 400 ms and 3 s windows, test signals"
_LAW = "Measured against the limit of the profile; not a statement about any law on loudness."

CHECKS: tuple[Check, ...] = (
    Check(
        "loudness",
        "Integrated loudness",
        "Gated loudness of each judged channel group.",
        "Acts joined without head, breaks and tail; and each act on its own.",
        "programme; each act",
        {"loudness.programme": "Programme loudness", "loudness.act": "Act loudness"},
        "target with tolerance, or minimum and maximum, LUFS or LKFS",
        (_BS1770, "EBU R 128 v5 (2023)", "ATSC A/85:2013"),
        (
            "Tone, slate and breaks are outside the span.",
            "One channel alone reads 3 dB lower than the same sound in two.",
            "Rounded to 0.1 as meters show it.",
        ),
        (_LAW, "Dialogue is not separated: a dialogue-anchored limit is not tested."),
    ),
    Check(
        "short-term",
        "Highest short-term and momentary loudness",
        "The highest 3 s and 400 ms value.",
        "Sliding windows in steps of 10 ms, not gated; no window crosses from one act into the next.",
        "programme",
        {
            "loudness.max_short_term": "Highest short-term loudness",
            "loudness.max_momentary": "Highest momentary loudness",
        },
        "maximum, LUFS or LKFS",
        (_TECH3341,),
        ("Programmes shorter than the window: not measured.",),
        (_LAW,),
    ),
    Check(
        "loudness-range",
        "Loudness range",
        "LRA of each judged channel group.",
        "10th to 95th percentile of short-term loudness above both gates.",
        "programme",
        {"loudness.range": "Loudness range"},
        "maximum (minimum), LU",
        ("EBU Tech 3342 (2023)",),
        ("Not meant for programmes under one minute: said so.",),
        ("EBU R 128 sets no limit; where there is one it is the outlet's own.",),
    ),
    Check(
        "true-peak",
        "True peak",
        "The highest interpolated sample of any channel of a judged group, LFE included.",
        "At least four times oversampling, at least 192 kHz; the worst places are listed by act and channel.",
        "programme",
        {"true_peak.programme": "True peak"},
        "maximum in dBTP, with a tolerance of measurement if the outlet grants one",
        ("ITU-R BS.1770-5 (2023), Annex 2",),
        ("Two conforming meters may differ by 0.2 dB in band, more near half the sampling rate.",),
    ),
    Check(
        "audio-layout",
        "Audio layout",
        "Sound streams and channels as flagged.",
        "Inventory of the headers.",
        "file, headers only",
        {"audio.arrangement": "Audio arrangement", "audio.channels": "Audio channels"},
        "mono streams, stereo streams, one stream; number of channels",
        (),
        (),
        ("What is on a channel is not recognised, only whether it sounds.",),
    ),
    Check(
        "audio-format",
        "Sampling rate and depth",
        "Samples per second and bits per sample of every sound stream.",
        "From the headers; the bits really used are told where they are fewer.",
        "file, headers only",
        {"audio.sample_rate": "Audio sampling rate", "audio.bit_depth": "Audio bit depth"},
        "accepted rates and depths",
        (),
        ("A 24-bit file whose low bits are zero is legal: told, not failed.",),
    ),
    Check(
        "channels",
        "Channels that must carry, channels that must be silent",
        "The highest sample of each channel over the programme.",
        "Groups of the profile by channel number, counted through all streams in file order.",
        "programme",
        {"audio.must_carry": "Channel carries programme", "audio.must_be_silent": "Channel is silent"},
        "minimum and maximum in dBFS",
        (),
        ("Dither is not sound: use a level such as -80 dBFS, not zero.", "An LFE may be silent."),
    ),
    Check(
        "silence",
        "Silence inside acts",
        "Runs in which all channels of a judged group are silent, or one while the others sound.",
        "Mean level per 10 ms under the profile's level.",
        "each act",
        {"silence.inside_acts": "Silence inside an act", "silence.one_channel": "One channel lost"},
        "longest accepted run; the level itself",
        (),
        ("A pause by design is real silence: waive it by span. Black under it is told as evidence.",),
    ),
)
