"""Checks on the picture's geometry: field order, active picture, stuck pixels."""

from __future__ import annotations

from qc.judge.check import Check

_SPAN = "programme; the whole file where acts are not known"

CHECKS: tuple[Check, ...] = (
    Check(
        "field-order",
        "Field order of the picture itself",
        "Which field of the picture is the earlier one, or that both are of one moment, by what moves; the flags are "
        "not asked.",
        "Two frames that follow each other are compared, one pair in seven frames, in bands of rows that move down the "
        "picture. Rows of one field are woven with rows of the other: of the same frame, and of the next one either "
        "way. What belongs together in time combs least. A pair votes where at least 0.1 % of it moves by more than 8 "
        "codes of 8 bits and the weaves differ by 30 %; three votes in a row make a run. The answer is top first, "
        "bottom first, progressive content, mixed (with the places), or not enough motion.",
        _SPAN,
        {"field_order.measured": "Field order as measured"},
        "accepted orders; progressive content (PsF) accepted or not; votes that an answer needs",
        ("ITU-R BT.709-6 (1080-line interlaced and PsF), by name only; the method is common practice, no source",),
        (
            "Fine lines, noise and text comb in all weaves alike and do not vote; a cut is no motion.",
            "Pulled-down film (3:2) is interlaced in two or three of five frames: it has an order, and reads as one.",
            "A still, or a slow programme, answers not enough motion: that passes, and says so, where the file is "
            "flagged progressive. Flagged interlaced it is an advisory: nothing has shown that its order is right, so "
            "a person steps through the fields where most moves.",
            "PsF is progressive content in interlaced signalling and is accepted where the profile says so.",
        ),
        (
            "A reversed shot shorter than about 20 frames, or one in a small part of the screen, is not found.",
            "Places are known to within 7 frames.",
            "Interlaced graphics over progressive pictures are mixed content: the larger motion decides.",
        ),
        evidence="still",
    ),
    Check(
        "active-picture",
        "Active picture",
        "How many rows and columns at each side of the raster are blank, to the pixel; letterbox and pillarbox, of the "
        "programme and of parts of it; the active format description where the decoder shows one.",
        "One frame in eight. A line is blank if no eight pixels along it are brighter on average than 10 codes of 8 "
        "bits over black. An edge is claimed where frames with a bright picture beside it (16 codes) agree to a line, "
        "and none says less. Bars that face each other are a letterbox or pillarbox, named by its shape; both at once "
        "are one window, named by its size and shape; 67.5 blank lines of 1080 together are named as 2048x1080 scaled "
        "to the width. Where no frame shows a picture in the outer lines of a side, more of them than are tolerated "
        "(1.5 % of the side for a shape), and no edge is claimed there, the answer is not measured and the strip is "
        "shown.",
        _SPAN,
        {
            "active_picture.blank_edges": "Blank edges",
            "active_picture.shape": "Shape of the picture",
            "active_picture.inserts": "Parts of another shape",
            "active_picture.afd": "Active format description",
        },
        "blank rows and columns that are tolerated; accepted shapes of the programme and of parts; accepted codes",
        (
            "SMPTE ST 2016-1 (active format description), codes from memory",
            "tolerated lines and shapes: common practice, no source",
        ),
        (
            "Night scenes and vignettes: an edge that wanders, or is nowhere bright beside, claims nothing; the union "
            "over the programme counts, so a side that is seen once is seen.",
            "Subtitles in a bar leave it a bar where the other bar is clear and frames without words agree.",
            "Archive in its own shape is meant: parts of another shape are for a person to look at.",
            "A blank edge in parts of the programme is an advisory; a broad black area at one side is claimed only "
            "where it is there throughout.",
        ),
        (
            "A 2048x1080 master cropped to 1920 loses 64 pixels a side, and one stretched to fit is 6.7 % too tall: "
            "neither leaves an edge, so neither can be seen here.",
            "Bars that are tilted (by 0.25 degrees or more at 1280 pixels) or soft have no edge: not measured; look.",
            "Edges that are blurred, mirrored or of another colour than black are not found.",
            "Places are known to within 8 frames.",
            "Active format description in ancillary data of MXF is not read: not measured, never absent.",
        ),
        evidence="still",
    ),
    Check(
        "stuck-pixels",
        "Stuck pixels",
        "Single pixels, or up to nine together, that stay at their place while the picture changes: dead, hot or stuck "
        "elements of a camera.",
        "About one picture in two seconds, every pixel against the median of its 5 x 5 neighbours. What stands out by "
        "14 codes of 8 bits or more, and by more than twice anything else within 6 pixels, is watched from then on. It "
        "counts if it was seen in at least six looks and in 15 % of those in which it could be, over three different "
        "pictures, in nearly every look of each, to the same side or at one value, on ground that changes. Pictures "
        "differ by what is on them, not by the cuts between.",
        _SPAN,
        {"stuck_pixels.programme": "Stuck pixels"},
        "how many are let through; in how many different pictures one must be seen",
        ("common practice, no source",),
        (
            "Logos, text and clocks have neighbours that stand out as well; noise and glints do not stay.",
            "A lamp or glint in the set of a locked-off camera comes back, but in the same picture: one picture.",
            "Stars and specks of a still background stay on their own ground.",
            "Dark and very bright pictures are passed over.",
        ),
        (
            "Each camera has its own raster position only as long as its shots are not reframed.",
            "A pixel that is seen in few shots of a long programme, or stands out little, can be missed; look at dark "
            "shots of that camera.",
            "Whether it disturbs depends on where it is: on a face or in the dark it does.",
        ),
        evidence="still",
    ),
)
