"""Rubrics as CASE 1.0 JSON (CFRubric), out and in. Pure: contents and plain JSON, no rows.

Field names are those of the 1EdTech information model. What the standard has no field for, the
letter and group of a criterion and the limits of its figures, stands under ``extensions`` in an
object of our own name, so that a rubric that went out comes back exactly as it was.
"""

from __future__ import annotations

import datetime as dt
import json
import uuid
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation

from rubrics.models import Criterion, Level, Limit, Rubric
from rubrics.models.rubrics import LONGEST_DESCRIPTOR
from rubrics.rubric.versions import CriterionContent, LevelContent, LimitContent
from studio.ware.sound import is_sound

CASE_UUID = r"[0-9a-f]{8}-[0-9a-f]{4}-[1-5]{1}[0-9a-f]{3}-[8-9a-b]{1}[0-9a-f]{3}-[0-9a-f]{12}"
# Names as published: 1EdTech CASE information model, CFRubric and its parts.
RUBRIC_FIELDS = {
    *("identifier", "uri", "title", "description", "lastChangeDateTime", "CFRubricCriteria"),
    "extensions",
}
CRITERION_FIELDS = {
    *("identifier", "uri", "category", "description", "CFItemURI", "weight", "position"),
    *("rubricId", "lastChangeDateTime", "CFRubricCriterionLevels", "extensions"),
}
LEVEL_FIELDS = {
    *("identifier", "uri", "description", "quality", "score", "feedback", "position"),
    *("rubricCriterionId", "lastChangeDateTime", "extensions"),
}
OURS = "rimAndReason"

MOST_BYTES = 1024 * 1024
MOST_CRITERIA, LEVELS = 20, (4, 3, 2, 1)
MOST_LIMITS = 6
LONGEST_TEXT = LONGEST_DESCRIPTOR
CENT = Decimal("0.01")


class CaseError(ValueError):
    """A file that is no rubric at all; the message is a sentence."""


@dataclass(frozen=True, slots=True)
class IncomingRubric:
    """A rubric read from a file, what of it cannot be taken, and what is passed over."""

    name: str
    criteria: tuple[CriterionContent, ...]
    problems: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()


def document(
    name: str, criteria: Sequence[CriterionContent], *, uid: uuid.UUID, uri: str, at: dt.datetime
) -> dict:
    """A rubric as a CASE document; ``uri`` is where it can be read, ``at`` its last change."""
    moment = at.astimezone(dt.UTC).isoformat(timespec="seconds").replace("+00:00", "Z")
    rubric = {
        "identifier": str(uid),
        "uri": uri,
        "title": name,
        "lastChangeDateTime": moment,
        "CFRubricCriteria": [
            _criterion(each, place, uid=uid, uri=uri, moment=moment)
            for place, each in enumerate(criteria, 1)
        ],
    }
    return {"CFRubrics": [rubric]}


def _criterion(each: CriterionContent, place: int, *, uid, uri: str, moment: str) -> dict:
    # By its letter, which stands once in a rubric: the same after every save.
    own = uuid.uuid5(uid, f"criterion:{each.letter}")
    here = f"{uri}#{own}"
    limits = [
        {"figure": one.figure, **{bound: f"{getattr(one, bound):f}" for bound in "abc"}}
        for one in each.limits
    ]
    ours = {"letter": each.letter, "group": str(each.group), "weight": f"{each.weight:f}"}
    return {
        "identifier": str(own),
        "uri": here,
        "category": each.name,
        "description": each.description,
        "weight": float(each.weight),
        "position": place,
        "rubricId": str(uid),
        "lastChangeDateTime": moment,
        "CFRubricCriterionLevels": [
            _level(level, own, uri=uri, moment=moment) for level in each.levels
        ],
        "extensions": {OURS: ours | {"limits": limits}},
    }


def _level(level: LevelContent, criterion: uuid.UUID, *, uri: str, moment: str) -> dict:
    own = uuid.uuid5(criterion, f"level:{level.number}")
    return {
        "identifier": str(own),
        "uri": f"{uri}#{own}",
        "description": level.descriptor,
        "quality": level.name,
        "score": float(level.points),
        "position": LEVELS.index(level.number) + 1,
        "rubricCriterionId": str(criterion),
        "lastChangeDateTime": moment,
        "extensions": {OURS: {"level": level.number, "points": f"{level.points:f}"}},
    }


def read(data: bytes) -> IncomingRubric:
    """Read the first rubric of a CASE document, or of a file that is one CFRubric.

    Raises
    ------
    CaseError
        Too large, no JSON, or without a rubric.
    """
    if len(data) > MOST_BYTES:
        raise CaseError(
            f"The file has more than {MOST_BYTES // 1024 // 1024} MB; a rubric is small."
        )
    try:
        said = json.loads(data.decode("utf-8-sig"), parse_constant=_no_constant)
    except (ValueError, RecursionError):
        raise CaseError("The file is no JSON that can be read. Export the rubric again.") from None
    reader = _Reader()
    return reader.rubric(_first_rubric(said, reader))


def _no_constant(word: str):
    raise ValueError(f"{word} is no number of JSON")


def _first_rubric(said, reader: _Reader) -> dict:
    if isinstance(said, dict) and isinstance(said.get("CFRubrics"), list):
        rubrics = [each for each in said["CFRubrics"] if isinstance(each, dict)]
        if len(rubrics) > 1:
            reader.notes.append(f"The file holds {len(rubrics)} rubrics; the first one was read.")
        if rubrics:
            return rubrics[0]
    if isinstance(said, dict) and "CFRubricCriteria" in said:
        return said
    raise CaseError("There is no rubric in the file: neither CFRubrics nor CFRubricCriteria.")


class _Reader:
    """Collects a sentence for each thing that cannot be taken, so that all are told at once."""

    def __init__(self):
        self.problems: list[str] = []
        self.notes: list[str] = []
        self.strays: set[str] = set()

    def rubric(self, said: dict) -> IncomingRubric:
        self._stray(said, RUBRIC_FIELDS)
        name = self._text(said, "title", "The rubric", _longest(Rubric, "name"))
        if not name:
            self.problems.append("The rubric has no title. Give it one.")
        if said.get("description"):
            self.notes.append("The rubric's own description is passed over; there is no place.")
        rows = _placed(said.get("CFRubricCriteria"))
        if not rows:
            self.problems.append("The rubric has no criterion.")
        if len(rows) > MOST_CRITERIA:
            self.problems.append(
                f"The rubric has {len(rows)} criteria; up to {MOST_CRITERIA} are taken."
            )
            rows = rows[:MOST_CRITERIA]
        criteria = [self._criterion(each, place) for place, each in enumerate(rows)]
        letters = [each.letter for each in criteria]
        if len(set(letters)) < len(letters):
            self.problems.append("Two criteria have one letter. Give each its own.")
        if self.strays:
            names = ", ".join(sorted(self.strays)[:10])
            self.notes.append(f"Fields that are not of the standard are passed over: {names}.")
        return IncomingRubric(name, tuple(criteria), tuple(self.problems), tuple(self.notes))

    def _criterion(self, said: dict, place: int) -> CriterionContent:
        self._stray(said, CRITERION_FIELDS)
        ours = _ours(said)
        letter = str(ours.get("letter") or chr(ord("A") + place))
        where = f"Criterion {place + 1}"
        if len(letter) > _longest(Criterion, "letter"):
            self.problems.append(f"{where} has the letter “{letter[:9]}”, which is too long.")
            letter = chr(ord("A") + place)
        if said.get("CFItemURI"):
            self.notes.append(f"{where}: the link to a standard is passed over.")
        # Others write the criterion's whole text as its description and no category.
        name = self._text(said, "category", where, _longest(Criterion, "name"))
        description = self._text(said, "description", where, LONGEST_TEXT)
        if not name:
            name, description = description[: _longest(Criterion, "name")], ""
            if not name:
                self.problems.append(f"{where} has neither a category nor a description.")
        else:
            where = f"{where} ({name})"
        group = str(ours.get("group", Criterion.Group.DESIGN))
        if group not in Criterion.Group.values:
            group = Criterion.Group.DESIGN
        return CriterionContent(
            letter=letter,
            name=name,
            weight=self._weight(said, ours, where),
            group=group,
            description=description,
            levels=self._levels(said, where),
            limits=self._limits(ours, where),
        )

    def _weight(self, said: dict, ours: dict, where: str) -> Decimal:
        if "weight" not in said:
            self.notes.append(f"{where} has no weight; it gets 1.")
            return Decimal(1)
        weight = _number(said["weight"], ours.get("weight"))
        if weight is None or not Decimal(0) < weight < Decimal(1000):
            self.problems.append(f"{where}: the weight has to be above 0 and below 1000.")
            return Decimal(1)
        return self._cents(weight, f"{where}: the weight")

    def _cents(self, number: Decimal, what: str) -> Decimal:
        rounded = number.quantize(CENT)
        if rounded != number:
            self.problems.append(f"{what} has more than two decimal places.")
        return rounded

    def _levels(self, said: dict, where: str) -> list[LevelContent]:
        rows = [
            each for each in _list(said.get("CFRubricCriterionLevels")) if isinstance(each, dict)
        ]
        if len(rows) != len(LEVELS):
            self.problems.append(
                f"{where} has {len(rows)} levels. Here every criterion has four, 4 the highest; "
                "join or part levels before you bring it in."
            )
            return []
        read = []
        for each in rows:
            self._stray(each, LEVEL_FIELDS)
            points = _number(each.get("score"), _ours(each).get("points"))
            if points is None or not 0 <= points <= 100:
                self.problems.append(f"{where}: every level needs a score from 0 to 100.")
                points = Decimal(0)
            if each.get("feedback"):
                self.notes.append(f"{where}: feedback of a level is passed over.")
            quality = self._text(each, "quality", where, _longest(Level, "name"))
            text = self._text(each, "description", where, LONGEST_TEXT)
            if not text:
                self.problems.append(f"{where}: a level has no description.")
            read.append((self._cents(points, f"{where}: a score"), each, quality, text))
        return self._ranked(read, where)

    def _ranked(self, read, where: str) -> list[LevelContent]:
        """By score, the highest first; where two score alike, by position."""
        numbers = [_ours(each).get("level") for _points, each, _quality, _text in read]
        if sorted(map(str, numbers)) == [str(n) for n in sorted(LEVELS)]:
            ranked = [row for _n, row in sorted(zip(numbers, read, strict=True), key=_by_level)]
        else:
            ranked = sorted(read, key=lambda row: (-row[0], _position(row[1])))
        points = [row[0] for row in ranked]
        if points != sorted(points, reverse=True) or not points[0]:
            self.problems.append(f"{where}: the scores have to rise with the levels, above 0.")
        return [
            LevelContent(number, quality or f"Level {number}", score, text)
            for number, (score, _each, quality, text) in zip(LEVELS, ranked, strict=True)
        ]

    def _limits(self, ours: dict, where: str) -> list[LimitContent]:
        limits: list[LimitContent] = []
        figures = dict(Limit._meta.get_field("figure").choices)
        for each in _list(ours.get("limits"))[:MOST_LIMITS]:
            said = each if isinstance(each, dict) else {}
            bounds = [_number(said.get(bound), said.get(bound)) for bound in "abc"]
            figure = said.get("figure")
            known = isinstance(figure, str) and figure in figures
            if not known or figure in [one.figure for one in limits]:
                self.problems.append(f"{where}: a limit is of no figure that is known here.")
            elif None in bounds or not _rise(bounds):
                self.problems.append(f"{where}: limits rise from level 4 to level 2, from 0 on.")
            else:
                limits.append(LimitContent(figure, *bounds))
        return limits

    def _text(self, said: dict, field: str, where: str, longest: int) -> str:
        value = said.get(field)
        if value is None:
            return ""
        if not isinstance(value, str):
            self.problems.append(f"{where}: {field} has to be a text.")
            return ""
        if len(value) > longest:
            self.problems.append(f"{where}: {field} has more than {longest} signs. Shorten it.")
        if not is_sound(value):
            self.problems.append(f"{where}: {field} holds a sign that cannot be kept.")
        return value[:longest] if is_sound(value) else ""

    def _stray(self, said: dict, known: set[str]) -> None:
        self.strays |= {str(field)[:40] for field in said if field not in known and is_sound(field)}


def _by_level(pair) -> int:
    return -int(pair[0])


def _longest(model, field: str) -> int:
    return model._meta.get_field(field).max_length


def _list(value) -> list:
    return value if isinstance(value, list) else []


def _placed(value) -> list[dict]:
    """In the order of their positions, or as they stand where these say nothing."""
    return sorted((each for each in _list(value) if isinstance(each, dict)), key=_position)


def _position(each: dict) -> float:
    position = each.get("position")
    return position if isinstance(position, int) and not isinstance(position, bool) else 0


def _ours(said: dict) -> dict:
    extensions = said.get("extensions")
    ours = extensions.get(OURS) if isinstance(extensions, dict) else None
    return ours if isinstance(ours, dict) else {}


def _number(value, exact) -> Decimal | None:
    """A number of the file; ``exact``, our own text of it, counts while it says the same."""
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        return None
    try:
        number = Decimal(str(value))
        if isinstance(exact, str) and float(exact) == float(number):
            number = Decimal(exact)
    except (InvalidOperation, ValueError, OverflowError):
        return None
    return number if number.is_finite() else None


# What a limit's columns hold: seven figures, three of them behind the point.
LIMIT_PLACE, LIMIT_TOP = Decimal("0.001"), Decimal(10_000)


def _rise(bounds: list[Decimal]) -> bool:
    a, b, c = bounds
    fits = all(bound == bound.quantize(LIMIT_PLACE) for bound in bounds if abs(bound) < LIMIT_TOP)
    return fits and 0 <= a <= b <= c < LIMIT_TOP
