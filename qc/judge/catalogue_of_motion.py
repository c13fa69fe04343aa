"""Checks on pictures in time: freezes, cadence, single frames that do not belong."""

from __future__ import annotations

from qc.judge.check import Check

_SPAN = "programme; the whole file where acts are not known"
_PRACTICE = ("common practice, no source",)

CHECKS: tuple[Check, ...] = (
    Check(
        "freeze",
        "Frozen and still pictures",
        "Stretches in which no frame differs from the one before, but for what a codec makes of it.",
        "Nothing moves when the busiest of 16 x 9 cells changes by no more than 0.6 codes of 8 bits on average; a "
        "whole stretch counts when every fourth of its frames repeats the one before exactly (98.5 % of the pixels "
        "of full-precision rows), which no camera's noise does. A pulse of a codec at a keyframe does not end it, a "
        "slow drift does; up to three frames in which a codec settles belong to it. What is still from cut, fade or "
        "black to the next is called a still, anything else a freeze.",
        _SPAN,
        {"freeze.inside_acts": "Frozen picture", "freeze.stills": "Still from cut to cut"},
        "longest accepted; another for stills (titles, cards), or the same for both without it",
        _PRACTICE,
        (
            "A real photograph or a locked-off shot has the camera's noise in every frame and is none.",
            "A title over noise or a moving ground is none; nor is a clock whose digits change.",
            "Titles, cards and slates that are digital stills are told as such, by their length; have a known element "
            "waived by its span.",
            "Black is no freeze; slow fades and creeping moves are none.",
        ),
        (
            "A camera shot whose noise a codec has wiped out entirely cannot be told from a still.",
            "A picture that hardly stands apart from black is taken for black.",
        ),
        evidence="still",
    ),
    Check(
        "cadence",
        "Cadence and standards conversion",
        "Whether frames or fields repeat by a rule, or are blended by one, and where that rule breaks.",
        "A frame repeats when what moves in it changes by at most an eighth of what it does in the frames near, and "
        "all of it, noise included, by three quarters at most. Four repeats or more in step make a cadence: 2:3 in "
        "fields or in frames, 2:2, one in n, one a second. Frames of 24 or 25 a second that were spread over 50, 59.94 "
        "or 60 have no short period: three seconds of them are told by where in the beat of the two rates repeats "
        "fall. Film in fields is also told by eight repeats in each field that change by less than half of what the "
        "frames near do, where a codec leaves no less. A blended "
        "conversion shows in how much each change has in common with the next: that rises and falls with the period "
        "of the two rates, in the same step for ten seconds or more.",
        _SPAN,
        {"cadence.accepted": "Cadence", "cadence.unbroken": "Cadence in step"},
        "accepted cadences; shortest stretch that is told; in step throughout or not",
        _PRACTICE,
        (
            "What does not move tells nothing and breaks nothing.",
            "Graphics on twos and short inserts are under the shortest stretch.",
            "Repeats that slip by one frame every 250 or at even distances are 24 frames made 29.97, and no break; nor "
            "are slips of 25 frames in 59.94, or of one field and then the other in 29.97.",
            "A still with noise and a light that flickers have new noise in every frame and repeat none.",
            "Wings, steps and wheels have rhythms of their own, but do not keep time with a conversion.",
        ),
        (
            "A blended conversion is found over ten seconds of motion or more, and to within two seconds; 24 frames "
            "made 25 over forty seconds, and to within ten.",
            "Conversions from field to field, and those that follow motion, leave too little and are not found.",
        ),
        evidence="still",
    ),
    Check(
        "repeats",
        "Repeated frames",
        "Frames that are shown twice while the picture moves.",
        "Up to three frames in a row that change nothing beyond the noise of a codec, with motion in each of three "
        "frames before and after, at least eight times as much right beside them. Repeats of a cadence, and those in "
        "step with it beside it, are left out first. Repeats within half a second are one place.",
        _SPAN,
        {"frames.repeats": "Repeated frames"},
        "how many are let through",
        _PRACTICE,
        (
            "Things that come to rest or turn change less and less, not all at once nothing.",
            "Cuts into or out of a still picture, and those between the fields of a frame, are none.",
            "A flash of two frames stands still in between: none.",
        ),
        ("In a picture that hardly moves a repeat cannot be seen, by anyone.",),
        evidence="still",
    ),
    Check(
        "drops",
        "Missing frames",
        "One step of the motion that is as long as two, three or four.",
        "Where the steps of five frames before and after are even to 13 %: a step that changes the picture as two, "
        "three or four do there, to a fifth, with the change over two frames to match.",
        _SPAN,
        {"frames.drops": "Missing frames"},
        "how many are let through",
        _PRACTICE,
        (
            "A keyframe of a codec renews the whole picture, what is quiet as much as what moves: none.",
            "Erratic motion, whip pans and impacts have uneven steps: nothing is claimed there.",
        ),
        (
            "Only in steady motion a missing frame can be told from a faster one; elsewhere it is not looked for.",
            "Not looked for within a cadence.",
        ),
        evidence="still",
    ),
    Check(
        "strays",
        "Stray frames",
        "Shots of one to three frames: left over at a cut, put into a shot, or beside black at the end of an act; "
        "and single fields of another picture.",
        "A picture has nothing in common with the one before when the fine structure of the two does not correlate "
        "(0.15 at most). A stray shot has such a step before and after it, while four frames on either side are calm: "
        "they change by 0.4 of that step at most. A stray field has such a step before and after it in the lines of "
        "one field, even where the picture is quiet, while those of the other change by a third of it at most.",
        _SPAN,
        {"frames.strays": "Stray frames"},
        "the shortest shot that can be meant: 2, 3 or 4 frames",
        _PRACTICE,
        (
            "Photo flashes and lightning keep the structure, or burn out to white: none.",
            "Whip pans and crash zooms are not calm on either side: none.",
            "Fast montages have short shots on either side: none.",
            "A frame that is a mixture of the one before and the one after, by its fields or by blending: a cut.",
            "A flash in one field shows the same picture in another light, or burns out to white: none.",
            "Black between shots is judged as black, a card of one colour as solid, broken blocks as damage.",
        ),
        (
            "A stray frame of the same shot, or of one framed like it, is not found here.",
            "Within four frames of another cut a stray shot is taken for montage.",
        ),
        evidence="still",
    ),
    Check(
        "hits",
        "Digital hits",
        "Damage in one frame that neither the frame before nor the frame after has: broken blocks; colour that is "
        "lost, inverted, swapped or another one; a whole picture in blocks; a part without signal.",
        "What stands out from both neighbours, while these agree, is looked at for straight edges on the grid of 16 "
        "x 16 pixel blocks: in luma, the clearer the less it stands out from what is in the five frames around; or "
        "in luma and colour; or in colour that stands out far. Colour of the whole picture counts when it comes and "
        "goes by 2 codes on average, twice what it does in the five frames around, while luma does so by three "
        "quarters of that at most; blocks of the whole picture when steps at the edges of 8 x 8 pixels are three "
        "times those around; a part without signal when a fifth of the picture or more, from one side on, is flat.",
        _SPAN,
        {"frames.hits": "Digital hits"},
        "how many are let through",
        ("ITU-T H.262 (MPEG-2) and H.264: macroblocks of 16 x 16; the rest is common practice, no source",),
        (
            "Sparks, birds, balls, rain and confetti have no edges on that grid.",
            "Cuts do not return; flashes have no blocks, and change the light as much as the colour.",
            "Colour that goes in a fade does not come back.",
            "What a codec does in fast motion looks alike in the frames around.",
        ),
        (
            "Damage that lasts several frames, or stands beside a cut, is not told here; nor dropouts of other shapes.",
            "In the midst of fast motion, faint damage, or damage in luma alone, may go under.",
            "A file that was scaled after the damage has its blocks off the grid.",
            "Where there is hardly any colour, nobody sees it lost, and it is not told.",
            "Bands of lines moved sideways and coarse steps of luma are not looked for.",
            "Errors that the decoder itself meets are told by the check of integrity.",
        ),
        evidence="still",
    ),
    Check(
        "solid",
        "Solid frames and bars",
        "Pictures that are of one colour to 95 % or so, and not black: cards for missing media, generators. "
        "Colour bars among the pictures of the programme.",
        "Share of the commonest colour, within 2 codes of 8 bits of luma, Cb and Cr, on a small plane. A run counts "
        "that has a cut on at least one side, and nothing on it (1 code of structure), unless the colour is vivid (30 "
        "codes of Cb or Cr): a card for missing media may have lettering, and "
        "5 % less of the picture suffices where that stands still. "
        "Bars are SMPTE RP 219, SMPTE EG 1 and EBU bars that fill "
        "the picture, or 4:3 in the middle: once a second in colour, each patch within 28 codes of its published one; "
        "the frames beside by a coarse grid of luma. Bars that fall between two such looks count when that grid is "
        "theirs to 4.5 codes.",
        _SPAN,
        {"frames.solid": "Solid frames", "frames.bars": "Bars in the programme"},
        "share of the picture; longest that is accepted, of one colour and of bars",
        ("SMPTE RP 219, SMPTE EG 1, ITU-R BT.471-1: patterns of bars; the rest is common practice, no source",),
        (
            "A fade or wash into a colour and out of it is none; nor is white for up to three frames, a flash.",
            "Titles and credits on black, grey or a pale ground are none; those on a vivid one waive or accept.",
            "Bars on a screen in the picture, small or at an angle, are none; nor are those of the head.",
        ),
        (
            "A card with large lettering, or with any on black, grey or a pale ground, looks like a title.",
            "Bars of less than a second whose levels are not as published may be missed; so are other patterns, and "
            "bars with lettering over most of them.",
        ),
        evidence="still",
    ),
)
