"""Checks of the head and the run-out."""

from __future__ import annotations

from qc.judge.check import Check

CHECKS: tuple[Check, ...] = (
    Check(
        "leader",
        "What the head shows",
        "Each element before the programme: what it is, its place in the order, its length in frames.",
        "Black by the profile's rule; cards are pictures that stand still for a second and a half or more; bars by "
        "their levels; clock and countdown by a part that steps evenly, a hand that goes round evenly, or a picture "
        "that begins anew every second; anything else is called moving picture. What is found is matched in order "
        "with what is asked for. Flashes of up to three frames in black belong to the black.",
        "head, frame by frame; small pictures once a second",
        {"leader.layout": "Head"},
        "a list of bars, bars and tone, tone, slate, countdown, clock, still and black, each with its length",
        (),
        (
            "Only the head is searched: bars on a screen in the story, a title that stands still, a test-card in the "
            "programme are never looked at.",
            "A night scene is moving picture, not black, as long as the profile's rule for black does not hold.",
            "Pictures brought to another rate rest evenly too; they move for more than two frames between.",
        ),
        (
            "No text is read. The slate is shown beside the file's name and measured times, for a person to compare.",
            "A clock and a countdown are not told apart.",
            "What is not recognised is not measured; it never passes.",
        ),
        evidence="still",
    ),
    Check(
        "colour-bars",
        "Colour bars",
        "Which published pattern the bars are, in which matrix, and how far their levels are off.",
        "Mean of the inner part of each field against its published level in Y', Cb and Cr: within 4 codes of 8 bits "
        "for luma, 5 for colour. Where the shape is there and the levels are not, that is said with the largest "
        "deviation. Pattern in the whole raster, or 4:3 in the middle of it.",
        "bars in the head",
        {"leader.bars": "Colour bars"},
        "names of patterns: SMPTE RP 219, SMPTE EG 1, EBU 100/0/75/0, EBU 100/0/100/0, EBU 75/0/75/0",
        (
            "SMPTE RP 219 (layout from memory)",
            "SMPTE EG 1 (layout from memory)",
            "ITU-R BT.471-1 (names of bars, from memory)",
            "ITU-R BT.709-6, BT.601-7, BT.2020-2 (codes of the colours)",
        ),
        ("Coding moves a mean by a code or two; edges between fields are not looked at.",),
        ("PLUGE, ramps and the fields that RP 219 leaves open are not judged.",),
        evidence="still",
    ),
    Check(
        "line-up-tone",
        "Line-up tone",
        "Level and frequency of the tone in the head, channel by channel.",
        "Rows of 10 ms with the crest of a sine (3.01 dB) and steady level and frequency. The level is the mean power, "
        "given in the profile's convention and in the other; the frequency is half the zero crossings of a second.",
        "longest tone of each channel in the head",
        {"leader.tone_level": "Line-up tone level", "leader.tone_frequency": "Line-up tone frequency"},
        "level in dBFS, its convention and tolerance; frequency in Hz and tolerance; channels",
        (
            "SMPTE RP 155 (-20 dBFS, from memory)",
            "EBU R 68 (-18 dBFS, from memory)",
        ),
        (
            "Meters differ by 3 dB: a full-scale sine is 0 dBFS as sine peak and -3.01 dBFS as RMS. Both are shown.",
            "A left channel that is interrupted for its identification is one tone.",
            "A hum or a note in the programme is not looked at.",
        ),
        ("Phase between channels is not judged.",),
        evidence="",
    ),
    Check(
        "sync-blip",
        "Sync blip before the programme",
        "One frame of picture and a burst of sound before SOM: where they are, and how far they are apart.",
        "A flash is one to three frames of picture in black, or the last number of a countdown that shows so briefly; "
        "a burst is up to 100 ms of sound between silences. The sound's onset is read from the share of energy in its "
        "first row of 10 ms, to 1 ms; a click shorter than three rows is known to 10 ms only, and is said to be. "
        "Positive is late sound. The limit gives way by the resolution.",
        "head",
        {"leader.blip": "Sync blip"},
        "required with its distance to SOM, or forbidden; how early and how late the sound may be",
        (),
        ("Beeps of a countdown are bursts too: the one nearest to the flash counts.",),
        ("It says nothing of the sync of the programme itself.",),
        evidence="still",
    ),
    Check(
        "run-out",
        "What the run-out shows",
        "Whether black, or the last picture held, stands after the programme, and whether it is silent.",
        "Black by the profile's rule; a picture is held where no frame differs from the one before. Where a hold is "
        "accepted, a picture that stands silently to the end of the file is the run-out, not the programme. Highest "
        "sample of the programme channels over whole rows.",
        "tail",
        {"leader.run_out": "Run-out"},
        "black, hold or both; highest sample in dBFS",
        (),
        (
            "A slow fade that is over after the running time is told with its frames; that it is too long is a finding "
            "of the running time.",
        ),
        ("A living hold (a picture that moves on in silence) is not told from the programme.",),
        evidence="still",
    ),
)
