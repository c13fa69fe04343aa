"""The check on flashing pictures and stripes. Every text says what it is not: a certified test."""

from __future__ import annotations

from qc.judge.check import Check

CHECKS: tuple[Check, ...] = (
    Check(
        "flashing",
        "Flashing pictures (screening only)",
        "How often and how much of the screen flashes within any second, by luminance and to or from saturated red; "
        "sequences that go on near the limits; regular stripes over a large part of the screen.",
        "Codes become cd/m2 on the screen of the published rule (standard range with white at 200, HLG with its peak "
        "at 1000, PQ absolute), averaged over 80 x 45 cells; both fields of an interlaced frame are looked at. A "
        "change is a move of 20 cd/m2 or more with the darker state under 160 (in HDR, above that, a contrast of "
        "more than 1/17), up and down by turns; saturated red is R / (R + G + B) of 0.8 or more in linear light and "
        "more than 0.2 away in u'v'. Counted are changes in any one second of real time, cuts included: those that "
        "more than the limit of the screen makes together, within a tenth of a second, and those of places that "
        "change so often themselves. Areas add up wherever they lie. Seven changes with leading edges as far apart "
        "as the rule accepts (9 frames at 25, 10 at 29.97) are taken for six. Stripes are looked for twice a second "
        "and followed for a quarter of a second each time, so their ends are known to within half a second; stripes "
        "that a cut takes away are judged as they stood before it.",
        "programme; the whole file where acts are not known",
        {
            "flashing.flashes": "Flashes",
            "flashing.red": "Red flashes",
            "flashing.long_sequences": "Long flashing",
            "flashing.patterns": "Stripes",
        },
        "published reading (BT.1702-3 or Ofcom), area, number of changes; seconds; shares of the screen for stripes",
        (
            "ITU-R BT.1702-3 (11/2023), Guidelines 1 and 2, Annex 2",
            "Ofcom, guidance notes to Section Two of the Broadcasting Code, Annex 1",
            "ISO 9241-391:2016 as quoted by WCAG 2.2 (number for saturated red)",
            "ITU-R BT.2100-2 (HLG and PQ)",
        ),
        (
            "A photo flash, a fade, a slow pulse, a lamp under the limit of area and type that rolls do not reach the "
            "limits.",
            "Fine detail that flickers or moves fast is brighter here and darker beside: where the two balance within "
            "1/16 x 1/9 of the screen it is an advisory, not a failure.",
            "Fast cuts between dark and bright shots can fail: that is the rule.",
        ),
        (
            "This is a screening aid, not a certified test. Flashing pictures can cause seizures: the test that the "
            "station requires, and local rules, decide.",
            "A pass is no proof of safety, and no certificate. How near in time flashes are concurrent, and how close "
            "to the limits a long sequence is, no published text says: the readings used here are our own.",
            "20 cd/m2 is 38.4 % signal by BT.1702-3 and 33.4 % by the older table: ask which one your station uses.",
            "Stripes are a hint to look. A pattern of fewer than eleven stripes, finer than the picture's quarter, or "
            "bent, is not found.",
            "Damaged pictures are not looked at.",
        ),
        evidence="still",
    ),
)
