"""Facts of rendered files: what FFmpeg was told to write is what the probe must say."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from qc.media.facts import FileFacts
from qc.media.probe import probe
from tests.kit.atoms import clap, insert
from tests.kit.render import EIGHT_MONO, NO_SOUND, NTSC, PAL, SURROUND, Episode, Sound, episode, render, wave_file

SHORT = {"acts": (12, 12), "break_frames": 6}
TOP, BOTTOM = "interlaced, top first", "interlaced, bottom first"


def picture(facts: FileFacts):
    assert facts.picture is not None
    return facts.picture


@pytest.fixture(scope="session")
def prores(media_dir: Path) -> Episode:
    return episode(media_dir / "prores.mov", form="mov-prores", scan="top first", timecode="01:00:00;00", **SHORT)


@pytest.fixture(scope="session")
def mpeg2(media_dir: Path) -> Episode:
    return episode(
        media_dir / "m2.mxf",
        form="mxf-mpeg2",
        scan="top first",
        rate=PAL,
        timecode="10:00:00:00",
        sounds=EIGHT_MONO,
        **SHORT,
    )


@pytest.fixture(scope="session")
def avc(media_dir: Path) -> Episode:
    return episode(media_dir / "avc.mov", form="mov-h264", timecode="01:00:00:00", **SHORT)


def test_mov_prores(prores: Episode) -> None:
    """ProRes 422 HQ 29.97i in MOV. Source: SMPTE RDD 36 (four-letter codes, frame header), QuickTime File Format."""
    facts = probe(prores.path)

    assert (facts.wrapper, facts.brand, facts.extension_agrees, facts.index_present) == ("MOV", "qt", True, True)
    stream = picture(facts)
    assert (stream.codec, stream.profile, stream.fourcc) == ("ProRes", "422 HQ", "apch")
    assert (stream.width, stream.height) == (320, 180)
    assert stream.frame_rate == NTSC
    assert stream.declared_frames == 30
    assert stream.duration == 30 / NTSC
    assert (stream.scan_by_container, stream.scan_by_stream) == (TOP, TOP)
    assert (stream.chroma, stream.bit_depth, stream.alpha) == ("4:2:2", 10, False)
    assert (stream.sample_aspect, stream.display_aspect) == (Fraction(1), Fraction(16, 9))
    assert (stream.colour_primaries, stream.colour_transfer, stream.colour_matrix) == ("BT.709",) * 3
    assert stream.rotation == 0
    assert facts.edit_list is None
    assert [(code.text, code.drop) for code in facts.timecodes] == [("01:00:00;00", True)]
    assert [other.kind for other in facts.others] == ["timecode"]
    (sound,) = facts.sounds
    assert (sound.codec, sound.rate, sound.sample_format, sound.bit_depth) == ("PCM", 48000, "s24", 24)
    assert (sound.layout, sound.labels) == ("stereo", ("L", "R"))


def test_mxf_mpeg2(mpeg2: Episode) -> None:
    """MPEG-2 4:2:2 long GOP in MXF OP1a with eight mono streams. Source: SMPTE ST 377-1, ST 378, RDD 9."""
    facts = probe(mpeg2.path)

    assert (facts.wrapper, facts.operational_pattern, facts.brand) == ("MXF", "OP1a", None)
    assert facts.index_present is True
    assert facts.tags["header partition"] == "closed, complete"
    stream = picture(facts)
    assert (stream.codec, stream.profile, stream.level) == ("MPEG-2", "4:2:2", "High")
    assert stream.bit_rate == 4_000_000
    assert (stream.frame_rate, stream.declared_frames) == (PAL, 30)
    assert (stream.scan_by_container, stream.scan_by_stream) == (TOP, TOP)
    assert (stream.chroma, stream.bit_depth) == ("4:2:2", 8)
    assert stream.clean_aperture == (0, 0, 320, 180)
    assert [(sound.channels, sound.sample_format, sound.bit_depth) for sound in facts.sounds] == [(1, "s24", 24)] * 8
    assert len(facts.channels) == 8
    packages = {code.where: (code.text, code.drop) for code in facts.timecodes}
    assert packages["material package"] == packages["source package"] == ("10:00:00:00", False)


def test_mxf_vc3(media_dir: Path) -> None:
    """VC-3 in MXF, progressive, drop-frame. Source: SMPTE ST 2019-1, ST 377-1."""
    facts = probe(episode(media_dir / "vc3.mxf", form="mxf-dnxhd", timecode="01:00:00;00", **SHORT).path)

    stream = picture(facts)
    assert (stream.codec, stream.profile, stream.chroma) == ("VC-3", "HQ", "4:2:2")
    assert (stream.scan_by_container, stream.scan_by_stream) == ("progressive", "progressive")
    assert facts.timecodes[0].text == "01:00:00;00"
    assert facts.timecodes[0].drop is True


def test_mp4_avc_with_aac(media_dir: Path) -> None:
    """AVC and AAC in MP4; sound without a depth of its own. Source: ISO/IEC 14496-12 (brand), 14496-3."""
    facts = probe(episode(media_dir / "avc.mp4", form="mp4-h264", scan="bottom first", sounds=SURROUND, **SHORT).path)

    assert (facts.wrapper, facts.brand) == ("MP4", "isom")
    assert picture(facts).codec == "AVC"
    assert picture(facts).scan_by_container is None, "MP4 has no field order atom here"
    assert picture(facts).scan_by_stream == BOTTOM
    (sound,) = facts.sounds
    assert (sound.codec, sound.bit_depth, sound.sample_format) == ("AAC", None, "flt")
    assert sound.labels == ("L", "R", "C", "LFE", "Ls", "Rs")
    assert facts.edit_list is None, "the run-up of the sound encoder is no edit of the programme"


@pytest.mark.parametrize("form", ["mov-prores", "mov-h264", "mp4-h264", "mxf-mpeg2"])
@pytest.mark.parametrize(
    ("scan", "words"), [("progressive", "progressive"), ("top first", TOP), ("bottom first", BOTTOM)]
)
def test_stream_says_its_scan_itself(media_dir: Path, form: str, scan: str, words: str) -> None:
    """Field order of the stream is read from the stream, top and bottom first. Source: as the encoder was told."""
    suffix = {"mov": ".mov", "mp4": ".mp4", "mxf": ".mxf"}[form[:3]]
    path = media_dir / f"scan-{form}-{scan[:3]}{suffix}"
    facts = probe(episode(path, form=form, scan=scan, sounds=NO_SOUND, acts=(8,), break_frames=[]).path)

    assert picture(facts).scan_by_stream == words
    assert picture(facts).scan_by_container in (None, words)


def test_wrapper_and_stream_may_disagree_about_scan(prores: Episode, media_dir: Path) -> None:
    """A changed field-order atom changes only what the wrapper says. Source: QuickTime File Format, "fiel"; TN2162."""
    content = prores.path.read_bytes()
    at = content.index(b"fiel") + 4
    assert content[at : at + 2] == b"\x02\x09"
    path = media_dir / "wrong-flag.mov"
    path.write_bytes(content[:at] + b"\x02\x0e" + content[at + 2 :])

    stream = picture(probe(path))
    assert (stream.scan_by_container, stream.scan_by_stream) == (BOTTOM, TOP)


def test_an_mp4_called_mov_is_told_by_content(media_dir: Path) -> None:
    """The wrapper is what the content says, not the file name. Source: ISO/IEC 14496-12, 4.3 (ftyp)."""
    source = episode(media_dir / "avc-plain.mp4", form="mp4-h264", **SHORT)
    path = media_dir / "renamed.mov"
    path.write_bytes(source.path.read_bytes())

    facts = probe(path)
    assert (facts.wrapper, facts.brand, facts.extension_agrees) == ("MP4", "isom", False)


def test_wav_float_and_24_bit(media_dir: Path) -> None:
    """A stem without picture; depth by format. Source: WAVEFORMATEXTENSIBLE."""
    import numpy as np

    tone = 0.1 * np.sin(np.arange(4800) / 8)
    float_facts = probe(wave_file(media_dir / "float.wav", np.stack([tone, tone], axis=1), encoding="pcm_f32le"))
    word_facts = probe(wave_file(media_dir / "word.wav", tone[:, None], rate=44100, encoding="pcm_s24le"))

    assert float_facts.wrapper == word_facts.wrapper == "WAV"
    assert float_facts.pictures == ()
    assert (float_facts.sounds[0].sample_format, float_facts.sounds[0].channels) == ("flt", 2)
    assert (word_facts.sounds[0].sample_format, word_facts.sounds[0].bit_depth) == ("s24", 24)
    assert word_facts.sounds[0].rate == 44100
    assert word_facts.duration == Fraction(4800, 44100)


def test_wav_depth_that_is_less_than_the_word(media_dir: Path) -> None:
    """20 valid bits in 24-bit words are 20 bits. Source: WAVEFORMATEXTENSIBLE, wValidBitsPerSample."""
    import numpy as np

    content = bytearray(wave_file(media_dir / "valid.wav", np.zeros((480, 2)), encoding="pcm_s24le").read_bytes())
    at = content.index(b"fmt ") + 8
    assert content[at : at + 2] == b"\xfe\xff", "extensible"
    content[at + 18 : at + 20] = (20).to_bytes(2, "little")
    path = media_dir / "valid20.wav"
    path.write_bytes(content)

    sound = probe(path).sounds[0]
    assert (sound.sample_format, sound.bit_depth) == ("s24", 20)


@pytest.mark.parametrize(
    ("sounds", "channels"),
    [
        pytest.param((Sound("octagonal"),), [8], id="one stream of eight"),
        pytest.param((Sound(),) * 4, [2] * 4, id="four pairs"),
        pytest.param((Sound("mono"),) * 8, [1] * 8, id="eight mono"),
    ],
)
def test_eight_channels_are_eight_channels(media_dir: Path, sounds: tuple[Sound, ...], channels: list[int]) -> None:
    """However they are packed, the flat channel list is the same length, in file order. Source: as rendered."""
    path = media_dir / f"eight-{len(sounds)}.mov"
    facts = probe(episode(path, form="mov-h264", sounds=sounds, acts=(6,), break_frames=[]).path)

    assert [sound.channels for sound in facts.sounds] == channels
    assert len(facts.channels) == 8
    assert [channel.stream for channel in facts.channels] == sorted(channel.stream for channel in facts.channels)


def test_two_languages(media_dir: Path) -> None:
    """Language of each stream by its ISO 639-2 code; unset is unknown, not English."""
    sounds = (Sound(language="eng"), Sound(language="fra"), Sound())
    facts = probe(episode(media_dir / "languages.mov", sounds=sounds, acts=(6,), break_frames=[]).path)

    assert [sound.language for sound in facts.sounds] == ["eng", "fra", None]


def test_no_sound(media_dir: Path) -> None:
    """A file without sound has no sound streams and no channels."""
    facts = probe(episode(media_dir / "silent-film.mov", sounds=NO_SOUND, acts=(6,), break_frames=[]).path)

    assert facts.sounds == () and facts.channels == ()
    assert picture(facts).declared_frames == 6


def test_no_timecode_is_no_timecode(media_dir: Path) -> None:
    """Nothing is made up where the file carries none."""
    facts = probe(episode(media_dir / "no-tc.mov", timecode=None, acts=(6,), break_frames=[]).path)

    assert facts.timecodes == ()
    assert facts.others == ()


@pytest.mark.parametrize(("text", "drop"), [("01:00:00;00", True), ("01:00:00:00", False), ("23:59:59:28", False)])
@pytest.mark.parametrize("form", ["mov-prores", "mxf-mpeg2"])
def test_counting_is_what_the_file_declares(media_dir: Path, form: str, text: str, drop: bool) -> None:
    """Drop-frame comes from the flag of the timecode track or component. Source: SMPTE ST 12-1; QTFF; ST 377-1."""
    path = media_dir / f"tc-{form}-{drop}-{text[:2]}.{form[:3]}"
    facts = probe(episode(path, form=form, timecode=text, acts=(6,), break_frames=[], sounds=NO_SOUND).path)

    assert facts.timecodes
    assert {(code.text, code.drop) for code in facts.timecodes} == {(text, drop)}


def test_timecode_tracks_that_disagree_are_both_told(media_dir: Path, avc: Episode) -> None:
    """Two timecode tracks, one an hour off: both, the one that the picture refers to first. Source: QTFF, tmcd."""
    double = render(
        media_dir / "double.mov",
        [
            "-i",
            str(avc.path),
            "-i",
            str(avc.path),
            "-map",
            "0:v",
            "-map",
            "0:a",
            "-map",
            "0:d",
            "-map",
            "1:d",
            "-c",
            "copy",
        ],
    )
    content = double.read_bytes()
    hour = (3600 * 30).to_bytes(4, "big")
    last = content.rindex(hour, 0, content.index(b"moov"))
    path = media_dir / "disagree.mov"
    path.write_bytes(content[:last] + (2 * 3600 * 30).to_bytes(4, "big") + content[last + 4 :])

    assert sorted(code.text for code in probe(path).timecodes) == ["01:00:00:00", "02:00:00:00"]


def test_rotation_is_clockwise(media_dir: Path, avc: Episode) -> None:
    """FFmpeg's option turns counter-clockwise; 90 there is 270 here. Source: ISO/IEC 14496-12, 8.3.2; FFmpeg manual."""
    turned = [("90", 270), ("180", 180), ("270", 90)]
    for option, expected in turned:
        path = render(
            media_dir / f"turn{option}.mov", ["-display_rotation:v", option, "-i", str(avc.path), "-c", "copy"]
        )
        assert picture(probe(path)).rotation == expected


def test_clean_aperture(media_dir: Path, prores: Episode) -> None:
    """A clean aperture in whole pixels from the top left; none is said where there is none.

    Source: ISO/IEC 14496-12, 12.1.4: offsets run from the centre of the picture to that of the aperture.
    """
    trail = [b"moov", b"trak", b"mdia", b"minf", b"stbl", b"stsd", b"apch"]
    path = media_dir / "clap.mov"
    path.write_bytes(insert(prores.path.read_bytes(), trail, clap(300, 170, x=2, y=-1)))

    assert picture(probe(path)).clean_aperture == (12, 4, 300, 170)
    assert picture(probe(prores.path)).clean_aperture is None


def test_edit_list_in_words(media_dir: Path, avc: Episode) -> None:
    """What an edit list leaves out or shifts is said, and the declared frames are those it leaves.

    Source: ISO/IEC 14496-12, 8.6.6; a copy from the middle of a group of pictures, and sound moved by 0.5 s.
    """
    long = episode(media_dir / "edit-source.mov", acts=(60,), break_frames=[], rate=PAL)
    cut = render(media_dir / "cut.mov", ["-ss", "1", "-i", str(long.path), "-map", "0:v", "-map", "0:a", "-c", "copy"])
    late = render(
        media_dir / "late.mov",
        ["-i", str(long.path), "-itsoffset", "0.5", "-i", str(long.path), "-map", "0:v", "-map", "1:a", "-c", "copy"],
    )

    facts = probe(cut)
    assert facts.edit_list is not None and "picture track 1: skips its first 1.000 s" in facts.edit_list
    assert picture(facts).declared_frames == 35
    assert probe(late).edit_list == "sound track 2: starts 0.500 s late"
    assert probe(late).sounds[0].start == Fraction(1, 2)
    assert probe(long.path).edit_list is None


def test_thumbnail_is_marked(media_dir: Path) -> None:
    """A cover picture is told apart from the programme, also when the wrapper does not mark it."""
    still = render(media_dir / "still.png", ["-f", "lavfi", "-i", "color=s=64x36", "-frames:v", "1"])
    source = episode(media_dir / "thumb-source.mp4", form="mp4-h264", **SHORT)
    both = ["-i", str(source.path), "-i", str(still), "-map", "1", "-map", "0:v", "-map", "0:a", "-c", "copy"]
    marked = probe(render(media_dir / "marked.mp4", [*both, "-disposition:v:0", "attached_pic"]))
    plain = probe(render(media_dir / "plain.mov", both))

    for facts in (marked, plain):
        assert sorted((stream.codec, stream.attached) for stream in facts.pictures) == [("AVC", False), ("PNG", True)]
        assert picture(facts).codec == "AVC"


def test_anamorphic_and_odd_rasters(media_dir: Path) -> None:
    """1440x1080 shown as 16:9 (here a tenth of it) has pixels of 4:3. Source: ITU-T H.264, Table E-1."""
    path = episode(
        media_dir / "anamorphic.mov", raster=(144, 108), acts=(6,), break_frames=[], extra=["-aspect", "16:9"]
    ).path

    stream = picture(probe(path))
    assert (stream.width, stream.height) == (144, 108)
    assert (stream.sample_aspect, stream.display_aspect) == (Fraction(4, 3), Fraction(16, 9))


def test_colour_tags_of_wide_colour(media_dir: Path) -> None:
    """BT.2020 with PQ is told in three tags. Source: ITU-T H.273 (codes 9, 16, 9)."""
    tags = "setparams=color_primaries=bt2020:color_trc=smpte2084:colorspace=bt2020nc"
    path = render(
        media_dir / "wide.mov",
        ["-f", "lavfi", "-i", f"testsrc2=s=160x90:r=25:d=0.4,format=yuv422p10,{tags}", "-c:v", "prores_ks"],
    )

    stream = picture(probe(path))
    assert (stream.colour_primaries, stream.colour_transfer, stream.colour_matrix) == ("BT.2020", "PQ", "BT.2020")


@pytest.mark.parametrize(
    ("name", "coder", "change"),
    [
        (
            "avc-says.mov",
            ["-pix_fmt", "yuv420p", "-c:v", "libx264", "-preset", "ultrafast"],
            "h264_metadata=colour_primaries=9:transfer_characteristics=18:matrix_coefficients=9",
        ),
        (
            "hevc-says.mov",
            ["-pix_fmt", "yuv420p", "-c:v", "libx265", "-preset", "ultrafast", "-x265-params", "log-level=error"],
            "hevc_metadata=colour_primaries=9:transfer_characteristics=18:matrix_coefficients=9",
        ),
        (
            "prores-says.mov",
            ["-c:v", "prores_ks"],
            "prores_metadata=color_primaries=bt2020:color_trc=arib-std-b67:colorspace=bt2020nc",
        ),
        (
            "mpeg2-says.mxf",
            ["-pix_fmt", "yuv422p", "-c:v", "mpeg2video", "-b:v", "5M"],
            "mpeg2_metadata=colour_primaries=9:transfer_characteristics=18:matrix_coefficients=9",
        ),
    ],
)
def test_the_picture_stream_speaks_for_itself(media_dir: Path, name: str, coder: list[str], change: str) -> None:
    """Where wrapper and stream contradict each other both are told: the wrapper is tagged BT.709, and the headers of
    the stream are rewritten by FFmpeg to BT.2020 with HLG. Source: ITU-T H.273 (codes 9, 18, 9)."""
    tagged = ["-color_primaries", "bt709", "-color_trc", "bt709", "-colorspace", "bt709"]
    pattern = ["-f", "lavfi", "-i", "testsrc2=s=160x96:r=25:d=0.4,format=yuv422p10", *coder]
    coded = render(media_dir / f"coded-{name}", pattern)
    other = render(media_dir / f"other-{name}", ["-i", str(coded), "-c", "copy", "-bsf:v", change])
    path = render(media_dir / name, ["-i", str(other), "-c", "copy", *tagged])

    stream = picture(probe(path))
    assert (stream.colour_primaries, stream.colour_transfer, stream.colour_matrix) == ("BT.709",) * 3
    assert stream.colour_by_stream == ("BT.2020", "HLG", "BT.2020")


def test_untagged_colour_is_unknown(media_dir: Path) -> None:
    """No tag is no tag: nothing is guessed from the raster."""
    path = render(
        media_dir / "untagged.mp4",
        ["-f", "lavfi", "-i", "testsrc2=s=160x90:r=25:d=0.4,format=yuv420p", "-c:v", "libx264", "-preset", "ultrafast"],
    )

    stream = picture(probe(path))
    assert (stream.colour_primaries, stream.colour_transfer, stream.colour_matrix) == (None, None, None)


def test_alpha(media_dir: Path) -> None:
    """ProRes 4444 with an alpha channel. Source: SMPTE RDD 36 (alpha_channel_type)."""
    path = render(
        media_dir / "alpha-by-its-stream.mov",
        ["-f", "lavfi", "-i", "testsrc2=s=160x90:r=25:d=0.4,format=yuva444p10", "-c:v", "prores_ks", "-profile:v", "4"],
    )

    stream = picture(probe(path))
    assert (stream.profile, stream.fourcc, stream.chroma, stream.alpha) == ("4444", "ap4h", "4:4:4", True)


def test_unknown_codec_still_has_header_facts(media_dir: Path, prores: Episode) -> None:
    """A codec without a decoder: raster, rate and scan flag from the headers, no pixel format made up."""
    path = media_dir / "codec-that-nobody-knows.mov"
    path.write_bytes(prores.path.read_bytes().replace(b"apch", b"zzzz"))

    stream = picture(probe(path))
    assert (stream.codec, stream.fourcc) == ("unknown (zzzz)", "zzzz")
    assert (stream.width, stream.height, stream.frame_rate) == (320, 180, NTSC)
    assert (stream.pixel_format, stream.chroma, stream.bit_depth) == ("unknown", None, None)
    assert stream.scan_by_stream is None


def test_encrypted_streams_are_named(media_dir: Path) -> None:
    """Common encryption is told by the sample entry. Source: ISO/IEC 14496-12, 8.12; 23001-7."""
    source = episode(media_dir / "clear.mp4", form="mp4-h264", **SHORT)
    key, name = "00112233445566778899aabbccddeeff", "ffeeddccbbaa99887766554433221100"
    scheme = ["-encryption_scheme", "cenc-aes-ctr", "-encryption_key", key, "-encryption_kid", name]
    path = render(
        media_dir / "locked.mp4", ["-i", str(source.path), "-map", "0:v", "-map", "0:a", "-c", "copy", *scheme]
    )

    facts = probe(path)
    assert picture(facts).codec == "encrypted AVC"
    assert facts.sounds[0].codec == "encrypted AAC"


def test_avc_intra_in_mxf_and_op_atom(media_dir: Path) -> None:
    """AVC-Intra class 100, 1080i. Its frames allow fields but count both alike: no order is said by the stream.

    Source: ITU-T H.264, A.2.9 (High 4:2:2 Intra); SMPTE ST 378 (OP1a), ST 390 (OP-Atom); as encoded.
    """
    scan = ["-vf", "setfield=tff", "-pix_fmt", "yuv422p10", "-flags", "+ildct+ilme", "-x264opts", "tff=1"]
    source = ["-f", "lavfi", "-i", "testsrc2=s=1920x1080:r=25:d=0.08"]
    codec = ["-c:v", "libx264", "-avcintra-class", "100", "-preset", "ultrafast"]
    facts = probe(render(media_dir / "intra.mxf", [*source, *scan, *codec, "-timecode", "10:00:00:00"]))
    atom = probe(
        render(media_dir / "atom.mxf", ["-i", str(media_dir / "intra.mxf"), "-c:v", "copy", "-f", "mxf_opatom"])
    )

    stream = picture(facts)
    assert (stream.codec, stream.profile, stream.level) == ("AVC", "High 4:2:2 Intra", "4.1")
    assert (stream.width, stream.height, stream.chroma, stream.bit_depth) == (1920, 1080, "4:2:2", 10)
    assert stream.clean_aperture == (0, 0, 1920, 1080)
    assert (stream.scan_by_container, stream.scan_by_stream) == (TOP, None)
    assert facts.operational_pattern == "OP1a"
    assert atom.operational_pattern == "OPAtom"


def test_interlaced_sequence_of_progressive_frames_keeps_its_first_field(media_dir: Path, mpeg2: Episode) -> None:
    """PsF in MPEG-2: the frame is flagged progressive, the sequence is not; it still is a 1080i-style stream.

    Source: ISO/IEC 13818-2, 6.3.10 (progressive_frame, top_field_first).
    """
    content = bytearray(mpeg2.path.read_bytes())
    at = content.find(b"\x00\x00\x01\xb5\x8f")
    while at >= 0:
        content[at + 8] |= 0x80
        at = content.find(b"\x00\x00\x01\xb5\x8f", at + 4)
    path = media_dir / "psf.mxf"
    path.write_bytes(content)

    assert path.read_bytes() != mpeg2.path.read_bytes()
    assert picture(probe(path)).scan_by_stream == TOP


def test_captions_and_subtitles(media_dir: Path, avc: Episode) -> None:
    """A CEA-608 caption track in MOV and timed text in MP4, with language. Source: QTFF (c608), ISO/IEC 14496-30."""
    scc = media_dir / "lines.scc"
    scc.write_text("Scenarist_SCC V1.0\n\n00:00:00:00\t9420 9420 94ae 94ae 9470 9470 c8e5 ecec ef80 942f 942f\n")
    srt = media_dir / "lines.srt"
    srt.write_text("1\n00:00:00,000 --> 00:00:00,500\nThe gate leans.\n")
    streams = ["-map", "0:v", "-map", "0:a", "-map", "1", "-c:v", "copy", "-c:a", "copy"]
    captions = probe(
        render(
            media_dir / "captions.mov",
            ["-i", str(avc.path), "-i", str(scc), *streams, "-c:s", "copy", "-metadata:s:s:0", "language=eng"],
        )
    )
    text = probe(
        render(
            media_dir / "text.mov",
            ["-i", str(avc.path), "-i", str(srt), *streams, "-c:s", "mov_text", "-metadata:s:s:0", "language=fra"],
        )
    )

    assert ("captions", "CEA-608 captions", "eng") in [(it.kind, it.codec, it.language) for it in captions.others]
    assert ("subtitles", "timed text", "fra") in [(it.kind, it.codec, it.language) for it in text.others]


@pytest.mark.parametrize(
    ("suffix", "codec", "wrapper"),
    [
        (".mkv", "libx264", "Matroska"),
        (".ts", "mpeg2video", "MPEG-TS"),
        (".mpg", "mpeg2video", "MPEG-PS"),
        (".avi", "mpeg2video", "AVI"),
    ],
)
def test_other_wrappers_are_named_by_content(media_dir: Path, suffix: str, codec: str, wrapper: str) -> None:
    """Wrappers that no outlet asks for are still told for what they are, with the stream's own scan."""
    interlaced = ["-vf", "setfield=bff", "-flags", "+ildct+ilme", "-pix_fmt", "yuv420p"]
    options = ["-x264opts", "bff=1", "-preset", "ultrafast"] if codec == "libx264" else ["-b:v", "2M"]
    facts = probe(
        render(
            media_dir / f"other{suffix}",
            ["-f", "lavfi", "-i", "testsrc2=s=160x96:r=25:d=1", *interlaced, "-c:v", codec, *options],
        )
    )

    assert (facts.wrapper, facts.extension_agrees, facts.index_present) == (wrapper, True, None)
    assert picture(facts).frame_rate == PAL
    assert (picture(facts).scan_by_container, picture(facts).scan_by_stream) == (None, BOTTOM)
