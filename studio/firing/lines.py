"""The lines of a controller's file: bytes to seconds and raw temperatures, line by line.

What a file cannot tell stays NaN here; :mod:`studio.firing.log` says what is done about it.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from datetime import UTC, datetime
from itertools import islice

import numpy as np

MOST_BYTES = 20_000_000
MOST_LINES = 500_000
"""A line a second for almost six days; longer is not one firing's log."""
MOST_COLUMNS = 64
"""What stands after so many is not looked at: a controller of twelve zones writes some forty."""
PREAMBLE_LINES = 60
"""How far down the first line of figures may stand: controllers tell of themselves first."""

ELAPSED, CLOCK, DATED = "elapsed", "clock", "dated"

_TIME_WORDS = ("time", "date", "elapsed", "minute", "second", "hour", "clock")
_TIME_HEADS = ("min", "sec", "s", "h", "hr", "hrs", "t")
_TEMPERATURE_WORDS = ("temp", "actual", "thermocouple", "°c", "°f", "celsius", "fahrenheit")
_TEMPERATURE_HEADS = ("pv", "tc", "c", "f", "t1", "tc1")
_NOT_THE_KILN = ("set", "target", "ambient", "board", "room", "program", "output", "power")

_CLOCK = re.compile(r"^(\d{1,3}):(\d{2})(?::(\d{2}(?:\.\d+)?))?\s*([AaPp])?\.?[Mm]?\.?$")
_DATED = re.compile(
    r"^(\d{1,2})[./-](\d{1,2})[./-](\d{2,4})[ T,]+"
    r"(\d{1,2}):(\d{2})(?::(\d{2}(?:\.\d+)?))?\s*([AaPp])?\.?[Mm]?\.?$"
)
_TAIL_UNIT = re.compile(r"\s*(?:°|º|deg)?\s*([CcFf])$")
_YEAR_BASE = 2000


class LogError(ValueError):
    """A file that holds no firing; the message is a sentence for the teacher."""


@dataclass(frozen=True, kw_only=True)
class Lines:
    """What the lines say, in the order of the file.

    ``seconds`` and ``raw`` are NaN where a line could not be read; ``numbers`` are the lines'
    numbers in the file. ``clock`` says what the seconds count: from the start, from midnight, or
    from a date. ``head_unit`` is C, F or "" as the heads or the cells say.
    """

    seconds: np.ndarray
    raw: np.ndarray
    numbers: np.ndarray
    clock: str
    head_unit: str
    elapsed_unit: str
    is_coarse: bool
    first_unread: str = ""
    heads: tuple[str, ...] = field(default=())


def read_lines(data: bytes) -> Lines:
    """Read a file of time and temperature.

    Raises
    ------
    LogError
        Empty, too large, no two columns of time and temperature.
    """
    rows, numbers = _rows(_decode(data))
    first, heads = _first_figures(rows)
    time_at, temperature_at = _columns(heads, _bare(rows[first]))
    body = rows[first:]
    body_numbers = np.array(numbers[first:])
    cells = [_joined(row, time_at) for row in body]
    values = [row[temperature_at] if temperature_at < len(row) else "" for row in body]
    seconds, clock, coarse = _seconds(cells)
    raw, cell_unit = _temperatures(values)
    unread = np.flatnonzero(~(np.isfinite(seconds) & np.isfinite(raw)))
    head = heads[temperature_at] if temperature_at < len(heads) else ""
    time_head = heads[time_at[0]] if time_at[0] < len(heads) else ""
    return Lines(
        seconds=seconds,
        raw=raw,
        numbers=body_numbers,
        clock=clock,
        head_unit=_unit_of_head(head) or cell_unit,
        elapsed_unit=_elapsed_unit(time_head) if clock == ELAPSED else "s",
        is_coarse=coarse,
        first_unread=", ".join(_bare(body[unread[0]]))[:60] if len(unread) else "",
        heads=tuple(heads),
    )


def _decode(data: bytes) -> str:
    if not data.strip():
        raise LogError("The file is empty. Copy it from the controller again.")
    if len(data) > MOST_BYTES:
        raise LogError(
            f"The file has {len(data) / 1e6:.0f} MB; up to {MOST_BYTES / 1e6:.0f} MB are taken. "
            "Export one firing at a time."
        )
    if data[:2] in {b"\xff\xfe", b"\xfe\xff"}:
        return data.decode("utf-16", errors="replace")
    if b"\0" in data[:1000]:
        raise LogError("This is not a text file. Export the log as CSV from the controller.")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("cp1252", errors="replace")


def _rows(text: str) -> tuple[list[list[str]], list[int]]:
    lines = text.splitlines()
    if len(lines) > MOST_LINES:
        raise LogError(
            f"The file has {len(lines)} lines; up to {MOST_LINES} are taken. "
            "Export one firing at a time."
        )
    sample = "\n".join(lines[:200])
    delimiter = max(",;\t|", key=lambda sign: (sample.count(sign) > 0, sign != ","))
    if sample.count(delimiter) == 0:
        raise LogError("There is one column only; a log has a time and a temperature in each line.")
    rows, numbers = [], []
    # Split, not parsed as quoted: a quotation mark that is never closed would swallow the rest of
    # the file, and neither a time nor a temperature holds the sign that parts them.
    for number, line in enumerate(lines, 1):
        if line.strip():
            rows.append(line.split(delimiter, MOST_COLUMNS))
            numbers.append(number)
    return rows, numbers


def _bare(row: list[str]) -> list[str]:
    return [_plain(cell) for cell in row]


def _plain(cell: str) -> str:
    return cell.strip().strip('"').strip()


def _first_figures(rows: list[list[str]]) -> tuple[int, list[str]]:
    """Where the figures begin, and the heads above them."""
    for at, row in enumerate(map(_bare, islice(rows, PREAMBLE_LINES))):
        times = [cell for cell in row if _looks_like_time(cell)]
        figures = [cell for cell in row if np.isfinite(_number(cell))]
        dated = len(row) > 2 and _looks_like_time(" ".join(row[:2]))
        if (times and figures and len(row) > 1 and len({*times, *figures}) > 1) or (
            dated and figures
        ):
            above = _bare(rows[at - 1]) if at else []
            return at, [cell.casefold() for cell in above] if len(above) > 1 else []
    raise LogError(
        "No line has a time and a temperature. A log reads like “08:15, 430” in every line; "
        "export it from the controller as CSV."
    )


def _looks_like_time(cell: str) -> bool:
    return bool(np.isfinite(_number(cell)) or _CLOCK.match(cell) or _DATED.match(cell)) or (
        _iso(cell) is not None
    )


def _columns(heads: list[str], row: list[str]) -> tuple[tuple[int, ...], int]:
    """The column of the time (two where date and time stand apart), and of the temperature."""
    time_at: tuple[int, ...] = ()
    if heads:
        named = [at for at, head in enumerate(heads) if _is_head(head, _TIME_WORDS, _TIME_HEADS)]
        named = [at for at in named if at < len(row)]
        dates = [at for at in named if heads[at] == "date"]
        if dates and len(named) > 1:
            time_at = (dates[0], next(at for at in named if at not in dates))
        elif named:
            time_at = (named[0],)
    if not time_at:
        apart = (
            len(row) > 2 and not _looks_like_time(row[0]) and _looks_like_time(" ".join(row[:2]))
        )
        time_at = (0, 1) if apart else (0,)
    warm = [
        at
        for at, head in enumerate(heads)
        if at not in time_at
        and _is_head(head, _TEMPERATURE_WORDS, _TEMPERATURE_HEADS)
        and not any(word in head for word in _NOT_THE_KILN)
    ]
    figures = [
        at for at, cell in enumerate(row) if at not in time_at and np.isfinite(_number(cell))
    ]
    found = [at for at in warm if at in figures] or figures
    if not found:
        raise LogError("There is a time but no temperature beside it.")
    return time_at, found[0]


def _is_head(head: str, words: tuple[str, ...], whole: tuple[str, ...]) -> bool:
    bare = re.sub(r"[^a-z0-9°]+", " ", head).split()
    return any(word in head for word in words) or any(each in whole for each in bare)


def _joined(row: list[str], time_at: tuple[int, ...]) -> str:
    if len(time_at) == 1:
        return _plain(row[time_at[0]]) if time_at[0] < len(row) else ""
    return " ".join(_plain(row[at]) for at in time_at if at < len(row))


# -- times ---------------------------------------------------------------------------------------


def _iso(cell: str) -> datetime | None:
    # Plain figures are elapsed time, though the standard also writes 20261103.
    if len(cell) < len("2026-11-03T08:00"):
        return None
    try:
        return datetime.fromisoformat(cell)
    except ValueError:
        return None


def _seconds(cells: list[str]) -> tuple[np.ndarray, str, bool]:
    """Seconds of every cell, what they count, and whether the clock shows no seconds."""
    sample = [cell for cell in islice(cells, 200) if cell]
    kinds = (
        (ELAPSED, _elapsed),
        (CLOCK, _clocks),
        (DATED, _dates),
        (DATED, _isos),
    )
    readable = [np.isfinite(read(sample)).sum() for _kind, read in kinds]
    best = int(np.argmax(readable))
    kind, read = kinds[best]
    seconds = read(cells)
    finite = seconds[np.isfinite(seconds)]
    coarse = kind != ELAPSED and len(finite) > 0 and bool(np.all(finite % 60 == 0))
    return seconds, kind, coarse


def _elapsed(cells: list[str]) -> np.ndarray:
    return np.array([_number(cell) for cell in cells])


def _hour(hour: int, half: str | None) -> int:
    if half is None:
        return hour
    return hour % 12 + (12 if half in "Pp" else 0)


def _clocks(cells: list[str]) -> np.ndarray:
    seconds = np.full(len(cells), np.nan)
    for at, cell in enumerate(cells):
        if match := _CLOCK.match(cell):
            hour, minute, second, half = match.groups()
            seconds[at] = _hour(int(hour), half) * 3600 + int(minute) * 60 + float(second or 0)
    return seconds


def _isos(cells: list[str]) -> np.ndarray:
    seconds = np.full(len(cells), np.nan)
    zero = datetime(_YEAR_BASE, 1, 1)
    zero_utc = zero.replace(tzinfo=UTC)
    for at, cell in enumerate(cells):
        when = _iso(cell)
        if when is not None:
            # Where the offset is told, a change to winter time is no jump.
            seconds[at] = (when - (zero if when.tzinfo is None else zero_utc)).total_seconds()
    return seconds


def _dates(cells: list[str]) -> np.ndarray:
    """Dates with slashes or points, day or month first, whichever runs on without a jump."""
    found = [_DATED.match(cell) for cell in cells]
    both = [_with_order(found, day_first=order) for order in (False, True)]
    unread = [np.isnan(seconds).sum() for seconds in both]
    if unread[0] != unread[1]:
        return both[int(unread[1] < unread[0])]
    spans = [np.abs(np.diff(s[np.isfinite(s)])).sum() for s in both]
    return both[int(spans[1] < spans[0])]


def _with_order(found: list, *, day_first: bool) -> np.ndarray:
    seconds = np.full(len(found), np.nan)
    zero = datetime(_YEAR_BASE, 1, 1).toordinal()
    days: dict[tuple[str, str, str], float] = {}
    for at, match in enumerate(found):
        if match is None:
            continue
        one, two, year, hour, minute, second, half = match.groups()
        date = (one, two, year)
        if date not in days:
            day, month = (one, two) if day_first else (two, one)
            full_year = int(year) + (_YEAR_BASE if len(year) == 2 else 0)
            try:
                days[date] = datetime(full_year, int(month), int(day)).toordinal() - zero
            except ValueError:
                days[date] = np.nan
        clock = _hour(int(hour), half) * 3600 + int(minute) * 60 + float(second or 0)
        seconds[at] = days[date] * 86400 + clock
    return seconds


def _elapsed_unit(head: str) -> str:
    """What a head says elapsed time counts: s, min, h, or "" where it says nothing."""
    words = re.sub(r"[^a-z]+", " ", head).split()
    for unit, names in (
        ("s", ("s", "sec", "secs", "second", "seconds")),
        ("min", ("m", "min", "mins", "minute", "minutes")),
        ("h", ("h", "hr", "hrs", "hour", "hours")),
    ):
        if any(word in names for word in words):
            return unit
    return ""


# -- temperatures --------------------------------------------------------------------------------


def _number(cell: str) -> float:
    try:
        value = float(cell)
    except ValueError:
        # A decimal comma can only stand where the columns are parted by another sign.
        try:
            value = float(cell.replace(",", ".", 1))
        except ValueError:
            return np.nan
    return value if np.isfinite(value) else np.nan


def _temperatures(cells: list[str]) -> tuple[np.ndarray, str]:
    """Raw temperatures, and the unit that the cells carry, if they carry one."""
    try:
        values = np.array(cells, dtype=float)
        return np.where(np.isfinite(values), values, np.nan), ""
    except ValueError:
        pass  # some cell is not a plain number; each is looked at
    unit, values = "", np.full(len(cells), np.nan)
    for at, cell in enumerate(map(_plain, cells)):
        value = _number(cell)
        if np.isnan(value) and (tail := _TAIL_UNIT.search(cell)):
            value = _number(cell[: tail.start()])
            unit = unit or (tail[1].upper() if np.isfinite(value) else "")
        values[at] = value
    return values, unit


def _unit_of_head(head: str) -> str:
    bare = re.sub(r"[^a-z]+", " ", head.replace("deg", " ")).split()
    for unit, names in (("F", ("f", "fahrenheit")), ("C", ("c", "celsius", "centigrade"))):
        if any(word in names for word in bare):
            return unit
    return ""
