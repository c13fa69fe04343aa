"""Every check in the words that ``qc explain`` prints: what, how, over which span, by which standard.

A value that a standard does not give is common practice; it differs by outlet and stands in a profile,
never here. Editions are named where a standard is; the outlet's own specification comes first.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Check:
    """One check.

    requirements  profile id -> title of its findings
    limits        what a profile can set
    standards     document and edition, one each; empty if it is common practice
    false_alarms  what makes a careless measurement cry wolf, and what is done about it
    cautions      what this check does not say
    """

    name: str
    title: str
    measures: str
    how: str
    span: str
    requirements: dict[str, str]
    limits: str
    standards: tuple[str, ...] = ()
    false_alarms: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()


_BS1770 = "ITU-R BS.1770-5 (2023), Annex 1: K-weighting, gates at -70 LKFS and -10 LU, channel weights"
_TECH3341 = "EBU Tech 3341 (2023): 400 ms and 3 s windows, test signals"
_LAW = "Measured against the limit of the profile; not a statement about any law on loudness."
_FLAGS = "Headers can be wrong about the picture they describe; this check reads the headers."

_ALL = (
    Check(
        "wrapper",
        "Wrapper",
        "The container the file really is, and whether the ending of its name agrees.",
        "Brand (MOV, MP4) or operational pattern (MXF) from the content, not from the name.",
        "file, headers only",
        {"wrapper.kind": "Wrapper", "wrapper.extension": "File name ending"},
        "accepted wrappers, such as MXF OP1a or MOV; ending must agree",
        ("SMPTE ST 378 (OP1a), by name only",),
        ("An MP4 brand in a .mov file is legal: advisory, not a failure.",),
    ),
    Check(
        "integrity",
        "Complete and decodable",
        "Whether every picture and every sound block can be decoded to the declared end.",
        "The whole file is decoded once; errors, damaged packets, early ends, changes in mid-stream and "
        "samples that are not numbers are counted and placed.",
        "file",
        {"integrity.decodable": "Complete and decodable"},
        "required or not; a damaged file fails even where the profile does not ask",
        (),
        ("Warnings of a decoder that lose nothing are not counted.",),
        ("A file that decodes without error can still show a fault that was there before the export.",),
    ),
    Check(
        "stream-lengths",
        "Picture, sound and timecode end together",
        "The largest difference between the lengths of picture, sound and timecode, in frames.",
        "Decoded frames and samples where the file was decoded, declared lengths before that.",
        "file",
        {"integrity.stream_lengths": "Stream lengths agree"},
        "largest difference in frames",
        (),
        ("Rests under half a frame are no difference: sound comes in packets. Edit lists are named.",),
    ),
    Check(
        "constant-rate",
        "Constant picture rate",
        "Gaps, repeats and jumps between the presentation times of frames.",
        "Steps between frames against one frame of the declared rate, one tick of the time base tolerated.",
        "file",
        {"integrity.constant_rate": "Constant picture rate"},
        "required or not",
        (),
        ("Coarse time bases round by one tick: tolerated.",),
        ("With a variable rate nothing that counts frames is measured.",),
    ),
    Check(
        "streams",
        "Streams",
        "How many picture and timecode streams there are, and what else.",
        "Inventory of the headers; a cover picture or thumbnail is left out and mentioned.",
        "file, headers only",
        {
            "streams.pictures": "Picture streams",
            "streams.timecode_tracks": "Timecode tracks",
            "streams.other": "Further streams",
        },
        "counts; kinds of further streams that are accepted",
        (),
        ("Thumbnails are not programme and are not counted.",),
    ),
    Check(
        "codec",
        "Picture codec",
        "The codec and its profile as the stream says.",
        "From the stream's own header.",
        "file, headers only",
        {"picture.codec": "Picture codec", "picture.codec_profile": "Codec profile"},
        "accepted codecs and profiles",
        ("SMPTE RDD 36 (ProRes) and RDD 9 (MPEG-2 4:2:2 50), by name only",),
        ("Writers label profiles differently: list every label the outlet accepts.",),
    ),
    Check(
        "sampling",
        "Chroma and bit depth",
        "Chroma sampling and bits per component of the picture.",
        "From the pixel format.",
        "file, headers only",
        {"picture.chroma": "Chroma sampling", "picture.bit_depth": "Picture bit depth"},
        "accepted samplings and depths",
        (),
        ("8-bit content in a 10-bit stream is legal and is not looked for.",),
    ),
    Check(
        "bit-rate",
        "Picture bit rate",
        "Declared or counted bit rate of the picture stream.",
        "Header value, else packets over duration.",
        "file, headers only",
        {"picture.bit_rate": "Picture bit rate"},
        "target with tolerance, or minimum and maximum, in Mb/s",
        (),
        ("A codec of variable rate undershoots on simple pictures: a low average is advisory there.",),
    ),
    Check(
        "raster",
        "Raster",
        "Coded width and height.",
        "From the headers; a change in mid-stream is damage and fails as such.",
        "file, headers only",
        {"picture.raster": "Raster"},
        "accepted rasters, such as 1920x1080",
        ("ITU-R BT.709 (1920x1080), by name only",),
    ),
    Check(
        "frame-rate",
        "Picture rate",
        "Exact rational frame rate.",
        "From the headers, compared as a fraction: 30 is not 30000/1001.",
        "file, headers only",
        {"picture.frame_rate": "Picture rate"},
        "accepted rates, such as 30000/1001 or 25",
        ("SMPTE ST 12-1 (rates and counting)",),
    ),
    Check(
        "scan",
        "Scan and field order as flagged",
        "Progressive or interlaced, and which field comes first.",
        "Flag of the container against the flag of the stream; both must say the same.",
        "file, headers only",
        {"picture.scan": "Scan and field order"},
        "accepted scans",
        (),
        ("Some writers leave the flag out: not measured, never guessed.",),
        (_FLAGS + " The field order of the picture itself is not tested in this version.",),
    ),
    Check(
        "aspect",
        "Pixel aspect, aperture, rotation",
        "Pixel shape, clean aperture and rotation flag.",
        "From the headers.",
        "file, headers only",
        {
            "picture.sample_aspect": "Pixel aspect",
            "picture.clean_aperture": "Clean aperture",
            "picture.rotation": "Rotation flag",
        },
        "accepted values",
        (),
        ("Some editing systems write a clean aperture that crops a few pixels: advisory, with the numbers.",),
    ),
    Check(
        "alpha",
        "Alpha channel",
        "Whether the picture carries an alpha channel.",
        "From the pixel format.",
        "file, headers only",
        {"picture.alpha": "Alpha channel"},
        '"none", or "present" where an outlet wants it',
    ),
    Check(
        "colour-tags",
        "Colour tags",
        "Primaries, transfer and matrix as tagged.",
        "From the headers; all three must name the accepted system.",
        "file, headers only",
        {"picture.colour": "Colour tags"},
        "accepted systems, such as BT.709",
        ("ITU-R BT.709, BT.2020 and BT.2100 (names of the systems)", "ITU-T H.273 (code points)"),
        ("Untagged files are usual in MXF: use level should unless the outlet wants the tags.",),
        (_FLAGS,),
    ),
    Check(
        "start-timecode",
        "Label at the start of programme",
        "The timecode of the programme's first frame (SOM).",
        "Label of the file's first frame plus the frames before the programme.",
        "first frame of the programme",
        {"timecode.start": "Timecode at SOM"},
        "the label the outlet writes",
        ("SMPTE ST 12-1 (labels)",),
        ("A file may begin earlier with bars, slate or countdown: the programme's label counts.",),
    ),
    Check(
        "timecode-counting",
        "Drop-frame or non-drop-frame",
        "How the timecode counts.",
        "The flag of the timecode track.",
        "file, headers only",
        {"timecode.counting": "Timecode counting"},
        "drop-frame, non-drop-frame",
        ("SMPTE ST 12-1 (drop-frame: labels ;00 and ;01 left out each minute but every tenth)",),
        ("Paperwork counted the other way shows as a programme of the wrong length.",),
    ),
    Check(
        "timecode-labels",
        "Timecode labels exist",
        "Whether each timecode in the file can exist in its counting.",
        "Every source is read by the rule of its own flag.",
        "file, headers only",
        {"timecode.valid_labels": "Timecode labels are valid"},
        "required or not",
        ("SMPTE ST 12-1",),
    ),
    Check(
        "timecode-agreement",
        "Timecode sources agree",
        "Whether all timecodes in the file name the first frame alike.",
        "All sources of the headers are compared; the one used for display is named.",
        "file, headers only",
        {"timecode.agreement": "Timecode sources agree"},
        "required or not",
        ("SMPTE ST 12-1",),
        ("A constant offset is one finding.",),
        ("Continuity of the timecode inside the file is not tested in this version.",),
    ),
    Check(
        "parts",
        "Parting",
        "Single, or parted by black.",
        "Black and silence matched to the outlet's clock; never every black a break.",
        "file",
        {"structure.parts": "Parting"},
        "single, soft parts, hard parts",
        (),
        ("A fade or a night scene inside an act is not a break.",),
    ),
    Check(
        "acts",
        "Number of acts",
        "How many acts there are.",
        "Black and silence matched to the outlet's clock, or the declared timing sheet.",
        "file",
        {"structure.acts": "Number of acts"},
        "a number, or minimum and maximum",
        (),
        ("Breaks that are not visible and no sheet: not measured, never a failure.",),
    ),
    Check(
        "act-length",
        "Length of each act",
        "Frames from the first to the last picture of an act.",
        "An act ends with its last frame that is not black by the profile's rule.",
        "each act",
        {"structure.act_length": "Act length", "structure.act": "Act length"},
        "exact with tolerance, or minimum and maximum; for all acts or by number",
        (),
        ("A fade ends where the profile's rule for black begins to hold.",),
    ),
    Check(
        "break-length",
        "Length of each break",
        "Frames of black between two acts.",
        "The run of black frames between two acts by the profile's rule.",
        "each break",
        {"structure.break_length": "Break length"},
        "exact with tolerance, or minimum and maximum",
        (),
        ("Coding noise in black is under the rule's threshold.",),
    ),
    Check(
        "break-content",
        "Breaks are black and silent",
        "The brightest luma (99.9 percentile) and the highest sample in each break.",
        "Luma histogram of each frame; highest sample of all channels.",
        "each break",
        {"structure.break_content": "Break is black and silent"},
        "percent of nominal white; dBFS",
        (),
        ("Coding noise: the 99.9 percentile counts, not the single brightest pixel.",),
        ("Captions in a break are not looked for.",),
    ),
    Check(
        "act-ends",
        "Sound at the end of an act",
        "The level in the last two frames of each act.",
        "Mean level of the programme channels, dBFS RMS.",
        "last two frames of each act",
        {"structure.act_ends": "Sound at act end"},
        "highest level in dBFS",
        (),
        ("Room sound that is cut is normal: always advisory, never a failure.",),
    ),
    Check(
        "timing-sheet",
        "Timing sheet agrees with the picture",
        "Declared against measured SOM and EOM of each act, in frames.",
        "Sheet and picture compared act by act.",
        "each act",
        {"structure.sheet": "Timing sheet"},
        "tolerance",
        ("SMPTE ST 12-1 (labels of the sheet)",),
        ("A constant offset (00: base against 01: base) is one finding.", "Inclusive or exclusive EOM is stated."),
    ),
    Check(
        "element-length",
        "Length of a declared element",
        "The length of an element that the timing sheet names (opening, credits, bumper).",
        "From the sheet.",
        "each element",
        {"structure.element": "Element length"},
        "exact with tolerance, or minimum and maximum",
        (),
        (),
        ("The element itself is not recognised in the picture.",),
    ),
    Check(
        "act-starts",
        "Acts start on a whole second or minute",
        "The label of the first frame of each act.",
        "Timecode of SOM; in drop-frame the first label of a minute may be ;02 (;04 at 59.94).",
        "first frame of each act",
        {"structure.act_starts": "Act start"},
        "whole second, whole minute",
        ("SMPTE ST 12-1",),
    ),
    Check(
        "head-and-tail",
        "What stands before and after the programme",
        "Frames before the first act and after the last.",
        "Black and silence matched to the outlet's clock.",
        "head, tail",
        {"structure.head": "Before the programme", "structure.tail": "After the programme"},
        "exact with tolerance, or minimum and maximum",
        (),
        ("A slow fade that runs on past the end is programme until it is black.",),
        ("Bars, slate and countdown are not recognised in this version, only their length together.",),
    ),
    Check(
        "trt",
        "Running time",
        "The sum of the acts, without head, breaks and tail.",
        "Frame-exact, or each act's start rounded down and end rounded up to whole seconds, as the profile says; "
        "frames are always given, and the other result where it differs.",
        "programme",
        {"duration.trt": "TRT"},
        "exact with tolerance, or minimum and maximum",
        ("SMPTE ST 12-1 (labels)",),
        ("21:30:00 counted non-drop-frame is 38 frames longer than 21:30;00.",),
    ),
    Check(
        "slot",
        "Slot",
        "TRT and breaks together.",
        "Frames from the first frame of act 1 to the end of the last act.",
        "programme with breaks",
        {"duration.slot": "Slot"},
        "exact",
    ),
    Check(
        "file-length",
        "Length of the file",
        "Frames of the whole file.",
        "Decoded frames; the declared length before that.",
        "file",
        {"duration.file": "File length"},
        "exact with tolerance, or minimum and maximum",
    ),
    Check(
        "black",
        "Black inside acts",
        "Runs of black frames inside acts that are not breaks.",
        "A frame is black when the profile's share of its pixels is at or under the profile's share of nominal "
        "white. A run of up to five frames with a hard edge on both sides is a stray black; any other run is judged "
        "by the profile's length. Sound under it is told as evidence.",
        "each act",
        {"black.inside_acts": "Black inside an act"},
        "longest accepted run; a shortest one too if given; the rule for black itself",
        (),
        (
            "Night scenes keep more bright pixels than the rule allows.",
            "Fades and dips that darken before they are black are judged by length alone.",
        ),
    ),
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
    Check(
        "picture-levels",
        "Picture levels and gamut",
        "Not measured in this version.",
        "Not measured in this version.",
        "none",
        {"levels.range": "Picture levels"},
        "range in percent and share of the picture",
        ("EBU R 103 v3 (2020)",),
        (),
        ("Have levels and gamut measured elsewhere.",),
    ),
)

#: Name of the check -> check, in the order of a report.
CHECKS: dict[str, Check] = {check.name: check for check in _ALL}

_OF_REQUIREMENT: dict[str, tuple[str, str]] = {
    requirement: (check.name, title) for check in _ALL for requirement, title in check.requirements.items()
}


def kind_of(requirement: str) -> str:
    """The id without the key of a list: "structure.act.3" is a "structure.act"."""
    return ".".join(requirement.split(".")[:2])


def check_of(requirement: str) -> tuple[str, str]:
    """Name of the check that a requirement belongs to, and the title of its findings."""
    return _OF_REQUIREMENT[kind_of(requirement)]


CAUTIONS = (
    "Loudness and peaks are measured against the limits of the profile; this is not a statement about any law.",
    "Flashing is not tested in this version: use the test that your station requires.",
    "Captions and subtitles are not checked in this version.",
    "Where the station's own specification and this profile differ, the station's specification counts.",
)
