"""The picture as the headers describe it: codec, raster, rate, scan, shape, colour."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from fractions import Fraction
from typing import Any

from qc.judge.asked import asked
from qc.judge.findings import chosen, finding, graded, not_measured, weighed
from qc.judge.headers import Headers, Judge
from qc.judge.limits import number_bounds
from qc.judge.verdict import Finding, Outcome
from qc.media.facts import PictureStream
from qc.outlets.schema_kinds import BitRateLimit, Choice, NumberChoice, Requirement
from qc.remedy import field_order, flags
from qc.remedy.exports import look, one_of, re_export
from qc.remedy.fix import Fix

NO_PICTURE = "no picture stream"

#: Codecs whose bit rate follows the picture: a low average says nothing (common practice).
_VARIABLE = ("prores", "vc-3", "hevc", "h.264", "avc", "jpeg 2000")


def _with_picture(judge: Callable[[PictureStream, str, Any], Iterator[Finding]]) -> Judge:
    def judged(case: Headers, key: str, requirement: Requirement) -> Iterator[Finding]:
        picture = case.picture
        if picture is None:
            yield not_measured(key, requirement, NO_PICTURE, asked(requirement))
        else:
            yield from judge(picture, key, requirement)

    return judged


@_with_picture
def codec(picture: PictureStream, key: str, requirement: Choice) -> Iterator[Finding]:
    yield chosen(
        key,
        requirement,
        picture.codec or None,
        requirement.accept,
        fix=re_export(f"codec {one_of(requirement.accept)}"),
    )


@_with_picture
def codec_profile(picture: PictureStream, key: str, requirement: Choice) -> Iterator[Finding]:
    yield chosen(
        key, requirement, picture.profile, requirement.accept, fix=re_export(f"profile {one_of(requirement.accept)}")
    )


@_with_picture
def chroma(picture: PictureStream, key: str, requirement: Choice) -> Iterator[Finding]:
    yield chosen(
        key, requirement, picture.chroma, requirement.accept, fix=re_export(f"{one_of(requirement.accept)} chroma")
    )


@_with_picture
def bit_depth(picture: PictureStream, key: str, requirement: NumberChoice) -> Iterator[Finding]:
    yield chosen(
        key,
        requirement,
        picture.bit_depth,
        requirement.accept,
        unit="bit",
        fix=re_export(f"{one_of(requirement.accept)}-bit picture"),
    )


@_with_picture
def bit_rate(picture: PictureStream, key: str, requirement: BitRateLimit) -> Iterator[Finding]:
    """A low average of a codec of variable rate is looked at, never failed."""
    bounds = number_bounds(requirement)
    if picture.bit_rate is None:
        yield not_measured(key, requirement, "the bit rate is neither declared nor countable", bounds.words)
        return
    rate = picture.bit_rate / 1e6
    judged = weighed(
        key, requirement, rate, bounds, unit="Mb/s", fix=re_export(f"a picture bit rate of {bounds.words}")
    )
    low = bounds.low is not None and rate < bounds.low
    if low and judged.outcome is Outcome.FAIL and picture.codec.casefold().startswith(_VARIABLE):
        yield weighed(
            key,
            requirement.model_copy(update={"level": "should"}),
            rate,
            bounds,
            unit="Mb/s",
            reason=f"the rate of {picture.codec} follows the picture: simple pictures stay under the target",
            fix=look("Compare with the export setting; no re-export if the setting is right.", "picture"),
        )
    else:
        yield judged


def raster(case: Headers, key: str, requirement: Choice) -> Iterator[Finding]:
    picture = case.picture
    if picture is None:
        yield not_measured(key, requirement, NO_PICTURE, asked(requirement))
        return
    measured = f"{picture.width}x{picture.height}"
    fix = re_export(f"a raster of {one_of(requirement.accept)}")
    if (picture.width, picture.height) == (2048, 1080):
        fix = re_export(
            f"a raster of {one_of(requirement.accept)}: crop 64 pixels on each side of the 2048x1080 master, "
            "or scale it to the width and accept 67.5 blank lines, about 34 at the top and 34 at the bottom"
        )
    yield chosen(key, requirement, measured, requirement.accept, fix=fix)


@_with_picture
def frame_rate(picture: PictureStream, key: str, requirement: Choice) -> Iterator[Finding]:
    """Exact: 30 is not 30000/1001."""
    rate = picture.frame_rate
    limit = one_of(requirement.accept)
    if rate is None:
        yield not_measured(key, requirement, "the picture rate is not declared, or it varies", limit)
        return
    wanted = [Fraction(value) for value in requirement.accept]
    good = rate in wanted
    near = next((value for value in wanted if round(value) == round(rate) and value != rate), None)
    reason = ""
    if not good and near is not None:
        apart = Fraction(1290) * (1 - rate / near if rate < near else rate / near - 1)
        reason = (
            f"{float(rate):.3f} is not {near} ({float(near):.3f}): "
            f"over 21:30 the two are {float(abs(apart)):.1f} s apart"
        )
    yield finding(
        key,
        requirement,
        graded(requirement, good),
        str(rate),
        limit,
        unit="frames/s",
        reason=reason,
        fix=None if good else re_export(f"a picture rate of {limit}"),
    )


def scan(case: Headers, key: str, requirement: Choice) -> Iterator[Finding]:
    """Flag of the container against flag of the stream; unknown is not measured. The fix asks the picture itself."""
    picture = case.picture
    if picture is None:
        yield not_measured(key, requirement, NO_PICTURE, asked(requirement))
        return
    by_container, by_stream = picture.scan_by_container, picture.scan_by_stream
    limit = one_of(requirement.accept)
    if by_container and by_stream and by_container != by_stream:
        yield finding(
            key,
            requirement,
            graded(requirement, False),
            f"container {by_container}, stream {by_stream}",
            limit,
            reason="container and stream disagree",
            fix=_scan_fix(case, requirement) or flags.field_order(limit),
        )
        return
    known = by_container or by_stream
    single = (
        ""
        if (by_container and by_stream) or not known
        else f"only the {'container' if by_container else 'stream'} says so"
    )
    interlaced = [value for value in requirement.accept if value.startswith("interlaced")]
    fix = _scan_fix(case, requirement) or (
        flags.field_order(one_of(interlaced))
        if known and known.startswith("interlaced") and interlaced
        else re_export(f"{limit} scan")
    )
    yield chosen(
        key,
        requirement,
        known,
        requirement.accept,
        unknown="neither container nor stream says how the picture is scanned",
        reason=single,
        fix=fix,
    )


def _scan_fix(case: Headers, requirement: Choice) -> Fix | None:
    """What the picture itself says about a wrong flag; None where it says nothing."""
    shown = case.measured_order
    for accepted in requirement.accept:
        if field_order.wanted_order(accepted) == shown:
            return field_order.flags_follow(shown, accepted)
    if shown in field_order.ORDERS:
        return field_order.picture_differs(shown, requirement.accept[0])
    return None


@_with_picture
def sample_aspect(picture: PictureStream, key: str, requirement: Choice) -> Iterator[Finding]:
    aspect = picture.sample_aspect
    measured = None if aspect is None else f"{aspect.numerator}:{aspect.denominator}"
    yield chosen(key, requirement, measured, requirement.accept, fix=re_export(f"{one_of(requirement.accept)} pixels"))


#: A clean aperture that takes away up to this many pixels a side is a habit of editing systems (common practice).
_FEW_PIXELS = 16


@_with_picture
def clean_aperture(picture: PictureStream, key: str, requirement: Choice) -> Iterator[Finding]:
    """A box that crops a few pixels is looked at, one that crops more fails."""
    limit, box = one_of(requirement.accept), picture.clean_aperture
    if box is None or box == (0, 0, picture.width, picture.height):
        measured = "full" if box else "full (no aperture is written)"
        good = "full" in requirement.accept
        yield finding(key, requirement, graded(requirement, good), measured, limit)
        return
    left, top, width, height = box
    sides = (left, top, picture.width - left - width, picture.height - top - height)
    few = max(sides) <= _FEW_PIXELS
    yield finding(
        key,
        requirement,
        Outcome.ADVISORY if few else graded(requirement, False),
        f"{width}x{height} at {left},{top}",
        limit,
        reason=f"the aperture hides {sides[0]} pixels left, {sides[2]} right, {sides[1]} top, {sides[3]} bottom "
        f"of {picture.width}x{picture.height}",
        fix=flags.aperture(),
    )


@_with_picture
def rotation(picture: PictureStream, key: str, requirement: NumberChoice) -> Iterator[Finding]:
    yield chosen(
        key,
        requirement,
        picture.rotation,
        requirement.accept,
        unit="degrees",
        fix=flags.rotation(requirement.accept[0]),
    )


@_with_picture
def alpha(picture: PictureStream, key: str, requirement: Choice) -> Iterator[Finding]:
    wanted = "no" if "none" in requirement.accept else "an"
    yield chosen(
        key,
        requirement,
        "present" if picture.alpha else "none",
        requirement.accept,
        fix=re_export(f"{wanted} alpha channel", "picture"),
    )


@_with_picture
def colour(picture: PictureStream, key: str, requirement: Choice) -> Iterator[Finding]:
    """All three tags name one accepted system, in the wrapper and in the stream; a must asks for the tags, a should
    only against others."""
    tags = {
        "primaries": picture.colour_primaries,
        "transfer": picture.colour_transfer,
        "matrix": picture.colour_matrix,
    }
    limit = one_of(requirement.accept)
    missing = [name for name, tag in tags.items() if not tag]
    if len(missing) == 3:
        yield finding(
            key,
            requirement,
            graded(requirement, False),
            "untagged",
            limit,
            reason="the picture carries no colour tags",
            fix=flags.colour(requirement.accept[0]),
        )
        return
    wanted = {value.casefold() for value in requirement.accept}
    others = [f"{name} {tag}" for name, tag in tags.items() if tag and tag.casefold() not in wanted]
    apart = _said_otherwise(tags, picture.colour_by_stream)
    good = not missing and not others and not apart
    said = sorted({tag for tag in tags.values() if tag})
    alike = not missing and len(said) == 1
    measured = said[0] if alike else ", ".join(f"{name} {tag or 'untagged'}" for name, tag in tags.items())
    reasons = [
        "" if not missing or others else f"no tag for {' and '.join(missing)}",
        f"the picture stream itself says {', '.join(apart)}: which is believed depends on the player" if apart else "",
    ]
    yield finding(
        key,
        requirement,
        graded(requirement, good),
        measured,
        limit,
        reason="; ".join(reason for reason in reasons if reason),
        fix=None if good else flags.colour(requirement.accept[0], in_stream=bool(apart)),
    )


#: Transfer characteristics that are one curve under several names. Source: ITU-T H.273, Table 3.
_ONE_CURVE = frozenset(("BT.709", "SMPTE 170M", "BT.2020 10-bit", "BT.2020 12-bit"))


def _said_otherwise(tags: dict[str, str | None], by_stream: Sequence[str | None]) -> list[str]:
    """What the picture stream says other than the wrapper."""
    return [
        f"{name} {own}"
        for (name, tag), own in zip(tags.items(), by_stream, strict=False)
        if tag and own and tag != own and not (name == "transfer" and {tag, own} <= _ONE_CURVE)
    ]


HEADER_JUDGES: dict[str, Judge] = {
    "picture.codec": codec,
    "picture.codec_profile": codec_profile,
    "picture.chroma": chroma,
    "picture.bit_depth": bit_depth,
    "picture.bit_rate": bit_rate,
    "picture.raster": raster,
    "picture.frame_rate": frame_rate,
    "picture.scan": scan,
    "picture.sample_aspect": sample_aspect,
    "picture.clean_aperture": clean_aperture,
    "picture.rotation": rotation,
    "picture.alpha": alpha,
    "picture.colour": colour,
}
