"""Records as JSON-able dictionaries and back: what the store keeps beside the series, what the child sends.

Written from the dataclasses' own type hints, so a new field needs no new code. Rates and times
stay exact: a Fraction is written "30000/1001". Whatever does not fit the type hints raises
HeaderError; nothing read from disk is trusted to have the right shape.
"""

from __future__ import annotations

import dataclasses
import types
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from typing import Any, TypeVar, Union, get_args, get_origin, get_type_hints

from qc.measurement.record import Event, FileIdentity, Measurement, PictureSeries, SoundSeries
from qc.media.facts import FileFacts

Record = TypeVar("Record")


class HeaderError(ValueError):
    """A header that does not fit its record; the message names the place."""


@dataclass(frozen=True)
class Header:
    """Everything of a Measurement but its series."""

    identity: FileIdentity
    facts: FileFacts
    events: tuple[Event, ...]
    complete: bool
    incomplete_because: str
    tool_version: str
    meters_version: int
    libraries: dict[str, str]

    @classmethod
    def of(cls, measurement: Measurement) -> Header:
        return cls(**{field.name: getattr(measurement, field.name) for field in dataclasses.fields(cls)})

    def with_series(self, sound: SoundSeries | None, picture: PictureSeries | None) -> Measurement:
        """The whole record again."""
        own = {field.name: getattr(self, field.name) for field in dataclasses.fields(self)}
        return Measurement(sound=sound, picture=picture, **own)


def to_dict(record: Any) -> Any:
    """A record (any of our frozen dataclasses) as plain dictionaries, lists, text and numbers."""
    if dataclasses.is_dataclass(record) and not isinstance(record, type):
        return {field.name: to_dict(getattr(record, field.name)) for field in dataclasses.fields(record)}
    if isinstance(record, Fraction):
        return f"{record.numerator}/{record.denominator}"
    if isinstance(record, (tuple, list)):
        return [to_dict(item) for item in record]
    if isinstance(record, dict):
        return {key: to_dict(value) for key, value in record.items()}
    if record is None or isinstance(record, (bool, int, float, str)):
        return record
    raise TypeError(f"{type(record).__name__} has no place in a header")


def from_dict(kind: type[Record], plain: Any) -> Record:
    """The record of a type (FileFacts, Header, Event, ...) from what ``to_dict`` made of it."""
    return _read(kind, plain, kind.__name__)  # type: ignore[no-any-return]


@cache
def _fields(kind: type) -> tuple[tuple[str, Any, bool], ...]:
    hints = get_type_hints(kind)
    return tuple(
        (
            field.name,
            hints[field.name],
            field.default is dataclasses.MISSING and field.default_factory is dataclasses.MISSING,
        )
        for field in dataclasses.fields(kind)
    )


def _read(hint: Any, plain: Any, where: str) -> Any:
    if dataclasses.is_dataclass(hint):
        return _read_record(hint, plain, where)  # type: ignore[arg-type]
    origin = get_origin(hint)
    if origin in (Union, types.UnionType):
        if plain is None and type(None) in get_args(hint):
            return None
        return _read(next(arm for arm in get_args(hint) if arm is not type(None)), plain, where)
    if origin is tuple:
        return _read_tuple(get_args(hint), plain, where)
    if origin is dict:
        if not isinstance(plain, dict):
            raise HeaderError(f"{where} is no table")
        value_hint = get_args(hint)[1]
        return {str(key): _read(value_hint, value, f"{where}.{key}") for key, value in plain.items()}
    if hint is Fraction:
        return _read_fraction(plain, where)
    if hint is float and type(plain) is int:
        return float(plain)
    if type(plain) is not hint:
        raise HeaderError(f"{where} is {type(plain).__name__}, not {getattr(hint, '__name__', hint)}")
    return plain


def _read_record(kind: type, plain: Any, where: str) -> Any:
    if not isinstance(plain, dict):
        raise HeaderError(f"{where} is no table")
    fields = _fields(kind)
    unknown = set(plain) - {name for name, _, _ in fields}
    missing = {name for name, _, required in fields if required} - set(plain)
    if unknown or missing:
        raise HeaderError(f"{where} has unknown or missing keys: {', '.join(sorted(map(str, unknown | missing)))}")
    return kind(**{name: _read(hint, plain[name], f"{where}.{name}") for name, hint, _ in fields if name in plain})


def _read_tuple(arms: tuple[Any, ...], plain: Any, where: str) -> tuple[Any, ...]:
    if not isinstance(plain, list):
        raise HeaderError(f"{where} is no list")
    if len(arms) == 2 and arms[1] is Ellipsis:
        return tuple(_read(arms[0], item, f"{where}[{at}]") for at, item in enumerate(plain))
    if len(arms) != len(plain):
        raise HeaderError(f"{where} has {len(plain)} entries, not {len(arms)}")
    return tuple(_read(arm, item, f"{where}[{at}]") for at, (arm, item) in enumerate(zip(arms, plain, strict=True)))


def _read_fraction(plain: Any, where: str) -> Fraction:
    if not isinstance(plain, str):
        raise HeaderError(f"{where} is no fraction")
    above, _, below = plain.partition("/")
    try:
        return Fraction(int(above), int(below))
    except (ValueError, ZeroDivisionError):
        raise HeaderError(f"{where} is no fraction: {plain[:40]!r}") from None
