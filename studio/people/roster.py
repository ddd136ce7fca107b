"""Reading class lists: pasted lines become names, and each is compared with those known.

Plain text and tuples only; what is done with a line is decided on the page and written by
``studio.people.sections``.
"""

import difflib
import unicodedata
from dataclasses import dataclass
from enum import StrEnum

LONGEST_NAME, LONGEST_NUMBER, MOST_LINES = 120, 40, 200
# Two names as alike as this are asked about: "Sana Z." / "Sanna Z." 0.93, "Ana P." / "Bea P." 0.5.
ALIKE = 0.86
# What can be done with a line.
ADD, JOIN, LEAVE_OUT, MOVE = "add", "join", "leave out", "move"


class RosterError(ValueError):
    """A list that cannot be read; the message is a sentence for the teacher."""


class Case(StrEnum):
    """What a pasted line turns out to be."""

    NEW = "new"
    HERE = "already in this section"
    LEFT = "was in this section and left"
    ELSEWHERE = "known from another section"
    TWICE = "twice in this list"
    ALIKE = "much like another name"
    CLASH = "school number of somebody else"


@dataclass(frozen=True, slots=True)
class RosterLine:
    """One pasted line. ``place`` counts from 1."""

    place: int
    name: str
    number: str
    sourced_id: str = ""
    """The student's key in the school's register, where the list came from there."""


@dataclass(frozen=True, slots=True)
class Known:
    """A student on record. ``section`` says where, for a person to read; "" is this section."""

    pk: int
    name: str
    number: str
    section: str = ""
    left: bool = False
    sourced_id: str = ""
    seen: bool = True
    """False for somebody of another teacher's class, whose name is not told here."""


@dataclass(frozen=True, slots=True)
class RosterProposal:
    """A line, what it turns out to be, and whom it may be."""

    line: RosterLine
    case: Case
    known: Known | None = None
    like: str = ""


def parse(text: str) -> list[RosterLine]:
    """Read a pasted class list: a line a student, ``name`` or ``name, school number``.

    A tab or a semicolon parts as a comma does, so that two columns copied from a spreadsheet
    work. Empty lines are passed over.

    Raises
    ------
    RosterError
        A name or a number that is too long, a line without a name, or a list that is too long.
    """
    lines = []
    for place, raw in enumerate(text.splitlines(), 1):
        said = unicodedata.normalize("NFC", raw).replace("\t", ",").replace(";", ",")
        parts = [" ".join(part.split()) for part in said.split(",")]
        if not any(parts):
            continue
        lines.append(_line(place, parts))
    if len(lines) > MOST_LINES:
        raise RosterError(
            f"These are {len(lines)} names; up to {MOST_LINES} are taken at once. Paste a part."
        )
    return lines


def _line(place: int, parts: list[str]) -> RosterLine:
    name, *rest = parts
    given = [part for part in rest if part]
    if not name:
        raise RosterError(f"Line {place} has no name before the comma. Write the name first.")
    if given and not any(sign.isdigit() for sign in given[0]):
        # “Okafor, Amara” is how registers sort; the page shows it turned round before it is kept.
        name = f"{given.pop(0)} {name}"
    if len(given) > 1:
        raise RosterError(
            f"Line {place} has more than a name and a number: “{', '.join(parts)}”. "
            "Write: name, school number."
        )
    return checked_line(place, name, given[0] if given else "")


def checked_line(place: int, name: str, number: str, sourced_id: str = "") -> RosterLine:
    """A line whose name and number can be kept.

    Raises
    ------
    RosterError
        A sign that cannot be printed, or a name or number that is too long.
    """
    if any(unicodedata.category(sign) == "Cc" for sign in name + number):
        raise RosterError(f"Line {place} holds a sign that cannot be printed. Type it afresh.")
    if len(name) > LONGEST_NAME or len(number) > LONGEST_NUMBER:
        raise RosterError(
            f"Line {place} is too long: a name has up to {LONGEST_NAME} letters "
            f"and a school number up to {LONGEST_NUMBER}."
        )
    return RosterLine(place, name, number, sourced_id)


def compare(lines: list[RosterLine], known: list[Known]) -> list[RosterProposal]:
    """Say of each line whether it is new, known, twice or much like another.

    The register's key decides before a school number, and that before a name. ``known`` are the
    students the teacher may see, and those of the keys and numbers in the list.
    """
    by_key = {each.sourced_id: each for each in known if each.sourced_id}
    by_number = {each.number: each for each in known if each.number}
    by_name: dict[str, list[Known]] = {}
    for each in known:
        by_name.setdefault(_plain(each.name), []).append(each)
    told = sorted((each for each in known if each.seen), key=lambda each: bool(each.section))
    plain = [(_plain(each.name), each) for each in (*told, *lines)]
    return [
        _by_key(line, by_key)
        or _by_number(line, by_number)
        or _by_name(line, by_name)
        or _among_lines(line, lines, plain)
        for line in lines
    ]


def _plain(name: str) -> str:
    """A name without case, accents and dots, for comparing only."""
    apart = unicodedata.normalize("NFD", name.casefold())
    return " ".join("".join(s for s in apart if s.isalnum() or s == " ").split())


def _alike(one: str, other: str) -> bool:
    """Whether one may be a slip of the other; the two quick bounds spare most of the work."""
    matcher = difflib.SequenceMatcher(None, one, other)
    return (
        matcher.real_quick_ratio() >= ALIKE
        and matcher.quick_ratio() >= ALIKE
        and matcher.ratio() >= ALIKE
    )


def _by_key(line: RosterLine, by_key: dict[str, Known]) -> RosterProposal | None:
    """The same key is the same person, whatever the name has become."""
    student = by_key.get(line.sourced_id) if line.sourced_id else None
    return RosterProposal(line, _where(student), student) if student else None


def _two_people(line: RosterLine, other) -> bool:
    """Whether two keys or two school numbers that differ keep two of one name apart."""
    return bool(
        (line.sourced_id and other.sourced_id and line.sourced_id != other.sourced_id)
        or (line.number and other.number and line.number != other.number)
    )


def _by_number(line: RosterLine, by_number: dict[str, Known]) -> RosterProposal | None:
    student = by_number.get(line.number) if line.number else None
    if student is None:
        return None
    if _two_people(line, student) or not _alike(_plain(student.name), _plain(line.name)):
        # Whose number it is stays unsaid: it may be a student of another class.
        return RosterProposal(line, Case.CLASH, student)
    return RosterProposal(line, _where(student), student)


def _by_name(line: RosterLine, by_name: dict[str, list[Known]]) -> RosterProposal | None:
    same = by_name.get(_plain(line.name), [])
    same = [each for each in same if not _two_people(line, each)]
    if not same:
        return None
    student = min(same, key=lambda each: (bool(each.section), each.left))
    return RosterProposal(line, _where(student), student)


def _where(student: Known) -> Case:
    if student.section:
        return Case.ELSEWHERE
    return Case.LEFT if student.left else Case.HERE


def _among_lines(
    line: RosterLine, lines: list[RosterLine], names: list[tuple[str, RosterLine | Known]]
) -> RosterProposal:
    """Compare a line that is nobody on record with the rest of the list and the known names."""
    if line.number and sum(other.number == line.number for other in lines) > 1:
        return RosterProposal(line, Case.CLASH, like="another line of this list")
    plain = _plain(line.name)
    same = [other for other in lines if _plain(other.name) == plain and other.place < line.place]
    if any(not _two_people(line, other) for other in same):
        return RosterProposal(line, Case.TWICE, like=line.name)
    for name, other in names:
        if name != plain and not _two_people(line, other) and _alike(plain, name):
            known = other if isinstance(other, Known) else None
            return RosterProposal(line, Case.ALIKE, known, like=other.name)
    return RosterProposal(line, Case.NEW)
