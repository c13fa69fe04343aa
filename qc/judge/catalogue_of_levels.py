"""Checks of picture levels and of the use of the range."""

from __future__ import annotations

from qc.judge.check import Check

CHECKS: tuple[Check, ...] = (
    Check(
        "picture-levels",
        "Picture levels and gamut",
        "How much of the picture lies outside bounds of luma and of R, G and B, by component and side.",
        "R, G and B are derived from the signal without clipping, by the tagged matrix (BT.601, BT.709 or BT.2020; "
        "untagged: BT.601 up to 576 lines, BT.2020 with a transfer function that belongs to it, else BT.709, and said "
        "so). They and luma pass the filter of R 103, within each field of an interlaced picture; then the share of "
        "the picture beyond the bound counts, for so many frames on end. Limits in codes as R 103 rounds them: 5 and "
        "246 of 8 bits for -5 and 105 %. A screen that cannot miss anything picks the pictures that are filtered; "
        "where nothing is found every third is looked at.",
        "programme",
        {"levels.range": "Picture levels"},
        "bounds of luma and of RGB in percent, share of the picture, frames",
        (
            "EBU R 103 v3.0 (2020): limits, filter, 1 % of the picture",
            "ITU-R BT.709-6 (2015), BT.601-7 (2011), BT.2020-2 (2015): matrices and codes",
        ),
        (
            "Ringing, sharpened edges and noise: the filter and the share of the picture take them away.",
            "Bars, slate and breaks are outside the span.",
            "No signal keeps to 0 and 100 % to the code: these are judged at -1 and 101 %, and said so.",
            "A highlight takes R, G and B with it: it is told once, as luma. A colour that is outside elsewhere in the "
            "picture, over more than the share that is let through, is told beside it.",
        ),
        (
            "This is the area test of R 103 with its filter; a legaliser or a scope without it reads more.",
            "R 103 advises against curing small gamut errors blindly.",
            "Excursions of one or two frames are not looked for.",
            "In a long run outside one picture in twelve is filtered where the screen sees no change.",
            "Full range cannot be outside in luma; R, G and B can.",
        ),
        evidence="still",
    ),
    Check(
        "range-use",
        "Use of the range: scaling and clipped highlights",
        "Whether the whole programme was scaled for another range than it says; and highlights that are clipped.",
        "Scaling: luma of all pictures together; a solid mass both below black and above white (full range called "
        "narrow), or nothing under code 30 nor from 220 on of 8 bits (scaled twice). Clipping: every twelfth picture; "
        "so much of it at one code at the top, with brightness running up to it, for so long.",
        "programme",
        {"levels.scaling": "Scaling of the range", "levels.clipping": "Clipped highlights"},
        "scaling: none; clipping: share of the picture and seconds. Advice only",
        (),
        (
            "A graded look may leave black and white unused: titles and white graphics tell, so it is advice only.",
            "White type and drawings are flat without brightness running up to them: no clipping.",
            "Windows and skies may be shot clipped: nothing can be done then, so it is advice only.",
        ),
        ("Where only one of black and white is used, that is said and let be: black-level judges blacks.",),
        evidence="still",
    ),
    Check(
        "black-level",
        "Black level: lifted or crushed",
        "Whether the blacks of the programme are lifted, or crushed into reference black, over much of it.",
        "Luma of all pictures. Lifted: how dark the darkest 0.1 % of each picture are; a stretch, counted through the "
        "breaks, with nothing as dark as asked, as long as asked and over a fifth of the programme. Crushed: more of "
        "the picture than asked at reference black (codes 12 to 16 of 8 bits) beyond what is always there, with "
        "brightness running down to it, in over a fifth of the pictures that are no nights (median at 20 % or more).",
        "programme",
        {"levels.black": "Black level"},
        "how dark a picture gets, within how many seconds; share of the picture piled up at black. Advice only",
        (),
        (
            "Fog, snow and an overcast scene hold no black: only long stretches of much of the programme count.",
            "Nights and caves are black: dark pictures do not count as crushed.",
            "Bands of a letterbox and frames are black in every picture: what is always there is taken off.",
            "Titles and drawings on flat black: no brightness runs down to it.",
            "Noise round black lies on both sides of it; a pile has a wall at black.",
        ),
        (
            "Lifted or crushed blacks of a single shot or scene are not judged: nights and fog look the same.",
            "Bands of a letterbox are black and hide blacks that are lifted inside them.",
            "A grade may want either, so it is advice only.",
            "Full range that is called narrow lies under black, too: range-use tells it, and it is not crushed.",
        ),
        evidence="still",
    ),
)
