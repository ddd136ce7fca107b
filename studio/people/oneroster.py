"""Class rosters in the open standard: OneRoster CSV 1.1 bulk files, read without the database.

Field names and their order are those of the 1EdTech OneRoster 1.1 CSV tables. A register sends
whole tables (bulk); one that sends only what changed (delta) is refused, since who has left would
be guessed. Rows say which class a user is a student of; nothing else of a person is kept but the
name, the register's key and its number: neither mail, telephone nor birthday.
"""

import csv
import datetime as dt
import io
import json
import zipfile
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import PurePosixPath

from studio.people.roster import RosterError, RosterLine, checked_line
from studio.people.roster_file import RosterProblem
from studio.people.tables import decode, sound_json

HEADERS = {
    "manifest": ("propertyName", "value"),
    "users": (
        *("sourcedId", "status", "dateLastModified", "enabledUser", "orgSourcedIds", "role"),
        *("username", "userIds", "givenName", "familyName", "middleName", "identifier", "email"),
        *("sms", "phone", "agentSourcedIds", "grades", "password"),
    ),
    "classes": (
        *("sourcedId", "status", "dateLastModified", "title", "grades", "courseSourcedId"),
        *("classCode", "classType", "location", "schoolSourcedId", "termSourcedIds", "subjects"),
        *("subjectCodes", "periods"),
    ),
    "enrollments": (
        *("sourcedId", "status", "dateLastModified", "classSourcedId", "schoolSourcedId"),
        *("userSourcedId", "role", "primary", "beginDate", "endDate"),
    ),
}
NEEDED = {
    "users": ("sourcedId", "role", "givenName", "familyName"),
    "classes": ("sourcedId", "title"),
    "enrollments": ("sourcedId", "classSourcedId", "userSourcedId", "role"),
}
# Some systems write this column of classes.csv in the singular.
SPELT_OTHERWISE = {"termSourcedId": "termSourcedIds"}
ONLY_IN_1_2 = {"userMasterIdentifier", "primaryOrgSourcedId", "preferredGivenName", "pronouns"}
METADATA = "metadata."
TABLES = ("classes", "users", "enrollments")
BULK, DELTA, ABSENT = "bulk", "delta", "absent"

MOST_BYTES = 8 * 1024 * 1024
MOST_UNPACKED = 48 * 1024 * 1024
MOST_FILES, MOST_ROWS, MOST_PROBLEMS = 60, 100_000, 100
LONGEST_CELL = 2000


class PackageError(ValueError):
    """Files that cannot be taken as a whole; the message is a sentence."""


@dataclass(frozen=True, slots=True)
class RosterClass:
    """A class of the register and its students."""

    sourced_id: str
    title: str
    lines: tuple[RosterLine, ...]


@dataclass(frozen=True, slots=True)
class Package:
    """What the files hold, or what is wrong with them, each with file and line."""

    classes: tuple[RosterClass, ...] = ()
    problems: tuple[tuple[str, RosterProblem], ...] = ()
    notes: tuple[str, ...] = ()

    def as_text(self) -> str:
        """To be carried by a page between the look and the confirmation."""
        return json.dumps(
            [
                [c.sourced_id, c.title, [[ln.name, ln.number, ln.sourced_id] for ln in c.lines]]
                for c in self.classes
            ],
            ensure_ascii=False,
        )

    @classmethod
    def from_text(cls, text: str) -> "Package":
        """Take back what :meth:`as_text` gave; it came over the wire, so it is checked again."""
        try:
            classes = tuple(
                RosterClass(
                    str(key),
                    str(title),
                    tuple(
                        checked_line(place, str(name), str(number), str(student))
                        for place, (name, number, student) in enumerate(students, 1)
                    ),
                )
                for key, title, students in sound_json(text)
            )
        except (ValueError, TypeError):
            raise PackageError("The files did not come back whole. Choose them again.") from None
        return cls(classes)


def unpack(files: Mapping[str, bytes]) -> dict[str, bytes]:
    """CSV files by their name without the ending, out of one ZIP or of several files.

    Raises
    ------
    PackageError
        Too large, damaged, locked, or a file that stands in it twice.
    """
    if sum(map(len, files.values())) > MOST_BYTES:
        raise PackageError(f"The files have more than {MOST_BYTES // 1024 // 1024} MB together.")
    found: dict[str, bytes] = {}
    for name, data in files.items():
        parts = _zip_parts(data) if data.startswith(b"PK\x03\x04") else [(name, data)]
        for inner, content in parts:
            path = PurePosixPath(inner.replace("\\", "/"))
            if path.suffix.lower() != ".csv":
                continue
            if path.stem in found:
                raise PackageError(f"{path.name} is there twice. Send each file once.")
            found[path.stem] = content
    return found


def _zip_parts(data: bytes) -> list[tuple[str, bytes]]:
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as parcel:
            parts = [
                part
                for part in parcel.infolist()
                if not part.is_dir() and not part.filename.startswith("__MACOSX/")
            ]
            total = sum(part.file_size for part in parts)
            if len(parts) > MOST_FILES or total > MOST_UNPACKED:
                raise PackageError(
                    f"The ZIP holds more than {MOST_FILES} files or unpacks to more than "
                    f"{MOST_UNPACKED // 1024 // 1024} MB. Export fewer classes."
                )
            return [(part.filename, parcel.read(part)) for part in parts]
    except RuntimeError:
        raise PackageError("The ZIP is locked by a password. Save it without one.") from None
    except PackageError:
        raise
    except Exception:  # a damaged archive may raise nearly anything, zlib's own error among it
        raise PackageError(
            "The ZIP is damaged or was cut off on the way. Export it again."
        ) from None


def read(files: Mapping[str, bytes], *, today: dt.date) -> Package:
    """Read the bulk files of a register.

    Parameters
    ----------
    files : mapping of str to bytes
        As they came: one ZIP, or several CSV files, by name.
    today : date
        An enrolment that ended before it is passed over.

    Returns
    -------
    Package
        Classes with their students; without any where there are problems.

    Raises
    ------
    PackageError
        No manifest, another version, a table that is absent or only what changed.

    References
    ----------
    .. [1] 1EdTech OneRoster 1.1, CSV tables.
    """
    parts = unpack(files)
    _honour_manifest(parts)
    tables, problems = {}, []
    for name in TABLES:
        rows, wrong = _table(name, parts[name])
        tables[name] = rows
        problems += [(f"{name}.csv", each) for each in wrong]
    if problems:
        return Package(problems=tuple(problems[:MOST_PROBLEMS]))
    return _put_together(tables, today)


def _honour_manifest(parts: Mapping[str, bytes]) -> None:
    if "manifest" not in parts:
        raise PackageError(
            "manifest.csv is missing. A OneRoster export has it beside the other files: send all "
            "of them, or the ZIP as it is."
        )
    rows, wrong = _table("manifest", parts["manifest"])
    if wrong:
        raise PackageError(f"manifest.csv: {wrong[0].sentence}")
    said = {row["propertyName"]: row["value"] for _line, row in rows}
    version = said.get("oneroster.version", "")
    if version.startswith("1.2"):
        raise PackageError(
            "These files are OneRoster 1.2, where a person's role stands in roles.csv. Version 1.1 "
            "is read here: choose it where you export."
        )
    if version != "1.1" or said.get("manifest.version") != "1.0":
        raise PackageError(
            f"The manifest says OneRoster {version or 'of no version'}, manifest "
            f"{said.get('manifest.version', 'of no version')}. OneRoster 1.1 with manifest 1.0 is "
            "read here: choose it where you export."
        )
    for name in TABLES:
        _refuse_table(name, said.get(f"file.{name}", ABSENT), name in parts)


def _refuse_table(name: str, said: str, is_there: bool) -> None:
    if said == DELTA:
        raise PackageError(
            f"The manifest calls {name}.csv delta: only what changed. Who has left would be a "
            "guess; export all of it (bulk)."
        )
    if said == ABSENT:
        raise PackageError(
            f"The manifest calls {name}.csv absent. A class roster needs classes, users and "
            "enrollments; export these three as bulk."
        )
    if said != BULK:
        raise PackageError(f"The manifest says “{said}” of {name}.csv; it says bulk or absent.")
    if not is_there:
        raise PackageError(f"{name}.csv is missing, though the manifest has it. Send it along.")


def _table(name: str, data: bytes) -> tuple[list[tuple[int, dict[str, str]]], list[RosterProblem]]:
    """The rows of one file with their lines, or what is wrong with it."""
    text, _notes = decode(data)
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    rows: list[tuple[int, dict[str, str]]] = []
    problems: list[RosterProblem] = []
    try:
        head = next(reader, [])
        if wrong := _refuse_head(name, head):
            return [], [RosterProblem(1, wrong)]
        fields = HEADERS[name]
        for cells in reader:
            if not any(cells):
                continue
            if len(rows) >= MOST_ROWS:
                return [], [
                    RosterProblem(0, f"There are more than {MOST_ROWS} rows. Export a school.")
                ]
            if len(cells) != len(head):
                sentence = f"The line has {len(cells)} cells and the headings are {len(head)}."
                problems.append(RosterProblem(reader.line_num, sentence))
                continue
            row = dict(zip(fields, (cell.strip()[:LONGEST_CELL] for cell in cells), strict=False))
            rows.append((reader.line_num, row))
            problems += _lacking(name, reader.line_num, row)
    except csv.Error:
        sentence = "From here on the file is no table; a quotation mark is wrong."
        problems.append(RosterProblem(reader.line_num, sentence))
    return rows, problems


def _refuse_head(name: str, head: list[str]) -> str:
    """Why the headings are not those of the standard; "" where they are."""
    wanted = HEADERS[name]
    given = [SPELT_OTHERWISE.get(cell.strip(), cell.strip()) for cell in head]
    standard = tuple(cell for cell in given if not cell.startswith(METADATA))
    if standard == wanted and tuple(given[: len(wanted)]) == wanted:
        return ""
    if ONLY_IN_1_2 & set(given):
        return "The headings are those of OneRoster 1.2; export version 1.1."
    lacking = [cell for cell in wanted if cell not in given]
    strays = [cell for cell in standard if cell not in wanted]
    if lacking:
        return f"The heading {lacking[0]} is missing. The standard has: {', '.join(wanted)}."
    if strays:
        return f"The heading “{strays[0]}” is not of the standard. It has: {', '.join(wanted)}."
    return f"The headings are in another order than the standard's: {', '.join(wanted)}."


def _lacking(name: str, line: int, row: Mapping[str, str]) -> list[RosterProblem]:
    return [
        RosterProblem(line, f"{field} is empty, which the standard does not allow.")
        for field in NEEDED.get(name, ())
        if not row[field] and not (field in ("givenName", "familyName") and _one_name(row))
    ]


def _one_name(row: Mapping[str, str]) -> bool:
    """Some people have one name only; a register then leaves the other empty."""
    return bool(row["givenName"] or row["familyName"])


def _put_together(tables, today: dt.date) -> Package:
    problems: list[tuple[str, RosterProblem]] = []
    by_key = {name: _by_key(name, tables[name], problems) for name in TABLES}
    members: dict[str, dict[str, RosterLine]] = {key: {} for key in by_key["classes"]}
    passed = {"ended": 0, "closed": 0, "removed": 0}
    for line, row in by_key["enrollments"].values():
        wrong, why_not = _weigh(row, by_key, today)
        if wrong:
            problems.append(("enrollments.csv", RosterProblem(line, wrong)))
        elif why_not:
            passed[why_not] = passed.get(why_not, 0) + 1
        else:
            user_line, user = by_key["users"][row["userSourcedId"]]
            try:
                members[row["classSourcedId"]][user["sourcedId"]] = _line_of(user_line, user)
            except RosterError as error:
                problems.append(("users.csv", RosterProblem(user_line, str(error))))
    if problems:
        return Package(problems=tuple(dict.fromkeys(problems))[:MOST_PROBLEMS])
    classes = tuple(
        RosterClass(key, row["title"], tuple(sorted(members[key].values(), key=lambda ln: ln.name)))
        for key, (_line, row) in by_key["classes"].items()
    )
    if not classes:
        raise PackageError("classes.csv has no class. Export at least one.")
    return Package(classes, notes=_notes(passed))


def _by_key(name, rows, problems):
    """Rows by sourcedId; one that stands twice is a problem."""
    found: dict[str, tuple[int, dict[str, str]]] = {}
    for line, row in rows:
        key = row["sourcedId"]
        if key in found:
            sentence = f"sourcedId {key} stands in line {found[key][0]} already."
            problems.append((f"{name}.csv", RosterProblem(line, sentence)))
        found[key] = (line, row)
    return found


def _weigh(row, by_key, today: dt.date) -> tuple[str, str]:
    """What is wrong with an enrolment; else why it is passed over ("" where it counts)."""
    for field, table in (("classSourcedId", "classes"), ("userSourcedId", "users")):
        if row[field] not in by_key[table]:
            return f"{field} {row[field]} is not in {table}.csv.", ""
    try:
        ends = dt.date.fromisoformat(row["endDate"][:10]) if row["endDate"] else today
    except ValueError:
        return f"endDate is “{row['endDate']}”; the standard writes 2026-06-30.", ""
    _line, user = by_key["users"][row["userSourcedId"]]
    reasons = {
        "grown-up": row["role"].lower() != "student",
        "removed": "tobedeleted" in (row["status"].lower(), user["status"].lower()),
        "closed": user["enabledUser"].lower() == "false",
        "ended": ends < today,
    }
    return "", next((why for why, holds in reasons.items() if holds), "")


def _line_of(line: int, user: Mapping[str, str]) -> RosterLine:
    name = " ".join(f"{user['givenName']} {user['familyName']}".split())
    return checked_line(line, name, user["identifier"], user["sourcedId"])


def _notes(passed: Mapping[str, int]) -> tuple[str, ...]:
    said = {
        "ended": "ended before today",
        "closed": "belong to a user who is not enabled",
        "removed": "are marked as to be deleted",
    }
    return tuple(
        f"Enrolments passed over because they {said[why]}: {count}."
        for why, count in passed.items()
        if count and why in said
    )
