"""What the photos of a turned cup told, to and from the JSON that the record keeps. No database.

``Turning.found`` holds: ``looked_at`` (ids of all photos it was told from), ``bar_mm`` (the check
bar of the scale; None where no ruler told it), ``used`` (ids of the photos solved together),
``left_out`` (a sentence by photo id), ``code``, ``message``, ``values``, ``rim_line``,
``outlines``, ``high_side``, ``zero_deg``, ``handle_seen`` and ``readings``, as
:class:`studio.camera.wheel.door.TurnedCup` has them.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, field, replace

from studio.camera import mat
from studio.camera.read import ASK_BAR
from studio.camera.wheel.door import SheetReading, TurnedCup
from studio.camera.wheel.trust import Value

DIGITS = 4
"""A tenth of a micrometre: finer than any figure is sure."""
MOST_PRINT_DOUBT_MM = 0.3
"""A length that an unmeasured mat makes less sure than this (standard uncertainty) is not to be
kept: as much as the surest of the figures."""


@dataclass(frozen=True)
class TurnedFound:
    """Everything that the photos of a turned cup tell, as kept. The attributes are those of
    :class:`studio.camera.wheel.door.TurnedCup`, the photos by id."""

    looked_at: tuple[int, ...] = ()
    bar_mm: float | None = None
    used: tuple[int, ...] = ()
    left_out: Mapping[int, str] = field(default_factory=dict)
    code: str = ""
    message: str = ""
    values: Mapping[str, Value] = field(default_factory=dict)
    rim_line: tuple[Value, ...] = ()
    outlines: Mapping[float, tuple[Value, ...]] = field(default_factory=dict)
    high_side: Value | None = None
    zero_deg: float = 0.0
    handle_seen: bool = False
    readings: tuple[SheetReading, ...] = ()

    @classmethod
    def of_cup(
        cls,
        cup: TurnedCup,
        looked_at: Iterable[int],
        bar_mm: float | None,
        left_out: Mapping[int, str],
    ) -> TurnedFound:
        """What to keep of a measured cup whose photos are named by their ids; ``left_out`` are
        those that were not handed to the camera."""
        found = cls(
            looked_at=tuple(looked_at),
            bar_mm=bar_mm,
            used=tuple(int(name) for name in cup.used),
            left_out={int(name): why for name, why in cup.left_out.items()} | left_out,
            code=cup.code or "",
            message=cup.message or "",
            values={name: v for name, v in cup.values.items() if _is_number(v)},
            rim_line=cup.rim_line,
            outlines=cup.outlines,
            high_side=cup.high_side_deg,
            zero_deg=cup.zero_deg,
            handle_seen=cup.handle_seen,
            readings=tuple(one for one in cup.readings if _is_number(one)),
        )
        return found if bar_mm is not None else found._on_unmeasured_mat()

    def _on_unmeasured_mat(self) -> TurnedFound:
        return replace(
            self,
            values={
                name: _by_print(v) if name.endswith("_mm") else v for name, v in self.values.items()
            },
            rim_line=tuple(_by_print(v) for v in self.rim_line),
            outlines={z: tuple(_by_print(v) for v in line) for z, line in self.outlines.items()},
            readings=tuple(
                one if one.quantity == "handle_twist" else _by_print(one) for one in self.readings
            ),
        )

    def to_json(self) -> dict:
        return {
            "looked_at": list(self.looked_at),
            "bar_mm": self.bar_mm,
            "used": list(self.used),
            "left_out": {str(pk): why for pk, why in self.left_out.items()},
            "code": self.code,
            "message": self.message,
            "values": {name: _plain(v) for name, v in self.values.items()},
            "rim_line": [_plain(v) for v in self.rim_line],
            "outlines": {f"{z:g}": [_plain(v) for v in line] for z, line in self.outlines.items()},
            "high_side": self.high_side and _plain(self.high_side),
            "zero_deg": round(self.zero_deg, DIGITS),
            "handle_seen": self.handle_seen,
            "readings": [_plain(one) for one in self.readings],
        }

    @classmethod
    def from_json(cls, kept: Mapping) -> TurnedFound:
        return cls(
            looked_at=tuple(kept["looked_at"]),
            bar_mm=kept["bar_mm"],
            used=tuple(kept["used"]),
            left_out={int(pk): why for pk, why in kept["left_out"].items()},
            code=kept["code"],
            message=kept["message"],
            values={name: Value(**v) for name, v in kept["values"].items()},
            rim_line=_values(kept["rim_line"]),
            outlines={float(z): _values(line) for z, line in kept["outlines"].items()},
            high_side=kept["high_side"] and Value(**kept["high_side"]),
            zero_deg=kept["zero_deg"],
            handle_seen=kept["handle_seen"],
            readings=tuple(SheetReading(**one) for one in kept["readings"]),
        )


def _by_print(figure):
    """A length on a mat that nobody measured is no surer than a printer's scale."""
    print_doubt = abs(mat.UNMEASURED_SCALE_SD * figure.value)
    wide = figure.trusted and print_doubt > MOST_PRINT_DOUBT_MM
    return replace(
        figure,
        u=math.hypot(figure.u, print_doubt),
        trusted=figure.trusted and not wide,
        message=ASK_BAR if wide else figure.message,
    )


def _is_number(figure) -> bool:
    return math.isfinite(figure.value) and math.isfinite(figure.u)


def _plain(figure) -> dict:
    return {
        name: round(value, DIGITS) if isinstance(value, float) else value
        for name, value in asdict(figure).items()
    }


def _values(kept: Iterable[Mapping]) -> tuple[Value, ...]:
    return tuple(Value(**v) for v in kept)
