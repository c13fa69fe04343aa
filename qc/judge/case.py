"""One measured file against one profile: everything that several judges need, worked out once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from qc.figures.field_order import LEAST_VOTES, field_order
from qc.figures.field_order import measured as fields_measured
from qc.figures.groups import ChannelGroup, default_group, group_of, why_no_group
from qc.figures.rows import rows_of, whole_rows_of
from qc.figures.shared import Figures
from qc.judge.audio_layout import NO_SOUND
from qc.judge.company import Company
from qc.judge.expected_clock import expected_clock, single_part
from qc.judge.headers import Headers
from qc.judge.picture_format import NO_PICTURE
from qc.judge.places import Places
from qc.judge.steps import variable_rate
from qc.measurement.record import Measurement, SoundSeries
from qc.outlets.schema_kinds import Requirement
from qc.programme.find import find_structure
from qc.programme.gaps import find_gaps
from qc.programme.leader import trailing_hold
from qc.programme.sheet import TimingSheet
from qc.programme.structure import Act, Gap, ProgrammeStructure
from qc.timing.spans import Span
from qc.timing.timecode import Clock

SOUND_ONLY = "there is no picture: the whole file is judged as the programme, counted in hundredths of a second"


@dataclass(frozen=True, kw_only=True)
class Case(Headers):
    """A file that was measured.

    sheet    declared timing sheet, None if there is none
    company  the outlets judged with this one, which share what they measure alike; None if it is alone
    """

    measurement: Measurement
    sheet: TimingSheet | None = None
    company: Company | None = field(default=None, repr=False, compare=False)

    @cached_property
    def figures(self) -> Figures:
        """Readings of the sound, shared with the other outlets of the run."""
        return self.company.figures if self.company is not None else Figures(self.measurement.sound)

    @property
    def others(self) -> tuple[Case, ...]:
        """The same file for the other outlets of the run."""
        return self.company.others(self) if self.company is not None else ()

    @cached_property
    def asked(self) -> dict[str, Requirement]:
        """Requirements of the outlet by their id."""
        return dict(self.profile.requirements())

    @cached_property
    def clock(self) -> Clock:
        return self.measurement.clock

    @cached_property
    def places(self) -> Places:
        return Places(self.clock, self.structure)

    @property
    def frames(self) -> int:
        """Decoded frames; hundredths of a second without a picture."""
        if self.measurement.picture is not None:
            return self.measurement.picture.frames
        return self.measurement.sound.rows if self.measurement.sound is not None else 0

    @cached_property
    def no_frames(self) -> str:
        """Why nothing can be counted in frames; "" if it can."""
        if not self.measurement.complete:
            return f"the file was not measured to its end: {self.measurement.incomplete_because or 'reason unknown'}"
        if self.picture is None:
            return NO_PICTURE
        if self.measurement.picture is None or not self.measurement.picture.frames:
            return "no picture could be decoded"
        if not self.measurement.picture.counted.any():
            return "no picture could be measured: all of them are damaged, or too small"
        if self.measurement.rate is None:
            return "the picture rate is not declared, or it varies"
        if variable_rate(self.measurement):
            return "the picture rate varies, so frames are no measure of time"
        return ""

    @cached_property
    def gaps(self) -> list[Gap]:
        """Runs of black by the profile's rule, each with its silent frames."""
        picture, black = self.measurement.picture, self.profile.black
        if picture is None or self.no_frames:
            return []
        channels, silence = tuple(self.programme_channels), self.profile.silence.below_dbfs
        key = ("gaps", channels, black.pixel_percent, black.picture_percent, silence)
        found = self.figures.once(
            key,
            lambda: find_gaps(
                picture,
                self.measurement.sound,
                channels,
                self.clock.rate,
                pixel_percent=black.pixel_percent,
                picture_percent=black.picture_percent,
                silence_below_dbfs=silence,
            ),
        )
        return self._with_hold(list(found), channels, silence)

    def _with_hold(self, gaps: list[Gap], channels: tuple[int, ...], silence: float) -> list[Gap]:
        """Where the outlet takes a held picture for the run-out: one that stands silently at the end, or up to the
        black at the end, counts as that black does."""
        run_out, picture = self.profile.leader.run_out, self.measurement.picture
        if run_out is None or "hold" not in run_out.accept or picture is None:
            return gaps
        black = [gap for gap in gaps if gap.span.end >= picture.frames]
        end = black[0].span.first if black else picture.frames
        hold = trailing_hold(picture, self.sound, channels, self.clock.rate, end, silence_below_dbfs=silence)
        if hold is None:
            return gaps
        silent = hold.frames + sum(gap.silent_frames for gap in black)
        return [*[gap for gap in gaps if gap not in black], Gap(Span(hold.first, picture.frames), silent)]

    @cached_property
    def sound_only(self) -> bool:
        """A file without picture for an outlet that asks nothing of cut, length or label of the programme:
        then the whole file is the programme, counted in hundredths of a second."""
        asked = self.profile
        needs_picture = any(key.startswith("structure.") for key, _ in asked.requirements()) or any(
            (asked.timecode.start, asked.duration.trt, asked.duration.slot, asked.black.inside_acts)
        )
        return not self.facts.pictures and self.measurement.complete and self.frames > 0 and not needs_picture

    @cached_property
    def structure(self) -> ProgrammeStructure:
        """Head, acts, breaks, tail; without acts its note says why."""
        if self.sound_only:
            whole, end = Span(0, self.frames), Span(self.frames, self.frames)
            return ProgrammeStructure("whole file", SOUND_ONLY, Span(0, 0), (Act(1, whole),), (), end)
        if self.no_frames:
            return ProgrammeStructure("", self.no_frames, Span(0, self.frames), (), (), Span(self.frames, self.frames))
        expected = expected_clock(self.profile, self.clock, self.sheet)
        single = single_part(self.profile, self.sheet)
        return find_structure(self.frames, self.gaps, expected, single, sheet=self.sheet, clock=self.clock)

    @property
    def no_programme(self) -> str:
        """Why there is no programme span; "" if there is one."""
        if self.structure.acts:
            return ""
        note = self.structure.note or "breaks are not visible; give a timing sheet"
        return note if note == self.no_frames else f"programme span unknown: {note}"

    @cached_property
    def programme(self) -> tuple[Span, ...]:
        """Acts in rows of 10 ms, joined without head, breaks and tail."""
        return tuple(self.rows(act.span) for act in self.structure.acts)

    @cached_property
    def shown(self) -> tuple[Span, ...]:
        """What picture checks judge, in frames: the acts; the whole file where they are not known."""
        return tuple(act.span for act in self.structure.acts) or (Span(0, self.frames),)

    @cached_property
    def measured_order(self) -> str:
        picture = self.measurement.picture
        if picture is None or self.no_frames or not fields_measured(picture.extra):
            return ""
        return field_order(picture.extra, self.shown, LEAST_VOTES).answer

    def rows(self, span: Span) -> Span:
        return rows_of(span, self.clock.rate)

    def whole_rows(self, span: Span) -> Span:
        """Only rows that hold nothing of what is beside the span."""
        return whole_rows_of(span, self.clock.rate)

    @property
    def sound(self) -> SoundSeries | None:
        return self.measurement.sound

    @cached_property
    def groups(self) -> tuple[ChannelGroup, ...]:
        """Groups whose loudness and peaks are judged: as declared, else the file's default group."""
        declared = self.profile.audio.group
        if declared:
            labels = [channel.label for channel in self.facts.channels]
            return tuple(
                group_of(group.name, group.channels, group.layout, labels)
                for group in declared
                if group.judged and group.carries != "silence"
            )
        default = default_group(self.facts)
        return (default,) if default else ()

    @cached_property
    def programme_channels(self) -> Sequence[int]:
        """Channels (from 0) that say whether a gap is silent: groups that carry programme, else all there are."""
        count = len(self.facts.channels)
        declared = [group for group in self.profile.audio.group if group.carries == "programme"]
        found = sorted({number - 1 for group in declared for number in group.channels if number <= count})
        if found:
            return found
        default = default_group(self.facts)
        return list(default.channels) if default else list(range(count))

    @cached_property
    def no_sound(self) -> str:
        """Why the programme's sound cannot be judged; "" if it can."""
        if not self.facts.sounds:
            return NO_SOUND
        if self.no_programme:
            return self.no_programme
        if self.sound is None or not self.sound.rows:
            return "no sound could be decoded"
        if not self.groups:
            return why_no_group(self.facts) or "the profile names no channel group to judge"
        return ""

    def used_bits(self, stream: int) -> int | None:
        """Deepest bit used by any channel of a stream."""
        if self.sound is None:
            return None
        channels = self.facts.channels[: self.sound.channels]
        used = [int(self.sound.used_bits[place]) for place, own in enumerate(channels) if own.stream == stream]
        return max(used, default=0) or None

    def subject(self, group: ChannelGroup, what: str) -> str:
        """ "act 2", and with its group where more than one is judged."""
        return what if len(self.groups) == 1 else f"{what}, {group.name}"

    def mix(self, group: ChannelGroup) -> str:
        """The group in a sentence: "mix", "M&E mix"."""
        if len(self.groups) == 1:
            return "mix"
        return group.name if "mix" in group.name.casefold() else f"{group.name} mix"

    def luma_mean(self, first: int, end: int) -> np.ndarray:
        """Mean luma of frames first..end-1 in code values above black, (frames,)."""
        picture = self.measurement.picture
        assert picture is not None
        edges = picture.bins.edges.astype(np.float64)
        middle = (edges[:-1] + edges[1:] - 1) / 2
        black = 0.0 if picture.bins.full_range else 16.0 * 2 ** (picture.bins.depth - 8)
        part = picture.luma[max(0, first) : max(0, end)].astype(np.float64)
        return part @ np.maximum(middle - black, 0.0) / np.maximum(part.sum(axis=1), 1.0)
