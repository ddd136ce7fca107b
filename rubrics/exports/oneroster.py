"""Results as OneRoster CSV 1.1 bulk files: lineItems.csv, results.csv and their manifest.csv.

A machine reads these, so every text stands as it is; the plain grades file for spreadsheets is in
:mod:`rubrics.exports.grades`.
"""

import csv
import datetime as dt
import io
import uuid
import zipfile
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from rubrics.exports.results import Results, project_uid, sourced_id

VERSION, MANIFEST_VERSION = "1.1", "1.0"
SOURCE_NAME, SOURCE_CODE = "Rim & Reason", "rim-and-reason"

# 1EdTech OneRoster 1.1, CSV tables: names and order.
FILES = (
    *("academicSessions", "categories", "classes", "classResources", "courses"),
    *("courseResources", "demographics", "enrollments", "lineItems", "orgs", "resources"),
    *("results", "users"),
)
LINE_ITEMS = (
    *("sourcedId", "status", "dateLastModified", "title", "description", "assignDate", "dueDate"),
    *("classSourcedId", "categorySourcedId", "gradingPeriodSourcedId", "resultValueMin"),
    "resultValueMax",
)
RESULTS = (
    *("sourcedId", "status", "dateLastModified", "lineItemSourcedId", "studentSourcedId"),
    *("scoreStatus", "score", "scoreDate", "comment"),
)
LOWEST, HIGHEST = 0, 100
"""Of a score: per cent of the weight assessed."""
# ZIP keeps no year before; a fixed moment makes the same results the same bytes.
ZIP_MOMENT = (1980, 1, 1, 0, 0, 0)


@dataclass(frozen=True, slots=True)
class RegisterKeys:
    """What the register wants of us: its keys for the category and the grading period, where it
    has them, and whether rows without a score are left out."""

    category: str = ""
    period: str = ""
    only_scored: bool = False


def package(results: Results, asked: RegisterKeys, *, today: dt.date) -> bytes:
    """The ZIP of a section's results; ``today`` dates what was not published."""
    parts = {
        "manifest.csv": manifest(("lineItems", "results")),
        "lineItems.csv": _csv(LINE_ITEMS, line_items(results, asked, today=today)),
        "results.csv": _csv(RESULTS, result_rows(results, asked, today=today)),
    }
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as parcel:
        for name, text in parts.items():
            info = zipfile.ZipInfo(name, ZIP_MOMENT)
            parcel.writestr(info, text, compress_type=zipfile.ZIP_DEFLATED)
    return out.getvalue()


def manifest(present: Iterable[str]) -> str:
    """Which files are there (bulk) and which are not (absent)."""
    here = set(present)
    rows = [
        ("manifest.version", MANIFEST_VERSION),
        ("oneroster.version", VERSION),
        *((f"file.{name}", "bulk" if name in here else "absent") for name in FILES),
        ("source.systemName", SOURCE_NAME),
        ("source.systemCode", SOURCE_CODE),
    ]
    pairs = ({"propertyName": name, "value": value} for name, value in rows)
    return _csv(("propertyName", "value"), pairs)


def line_items(results: Results, asked: RegisterKeys, *, today: dt.date) -> list[dict]:
    """One row a project."""
    section = results.section
    told = [result.published_on for result in results.all() if result.published_on]
    return [
        {
            "sourcedId": project_uid(project),
            "title": project.title,
            "description": project.brief,
            "assignDate": _dates(project, told, today)[0].isoformat(),
            "dueDate": _dates(project, told, today)[1].isoformat(),
            "classSourcedId": sourced_id(section),
            "categorySourcedId": asked.category or uuid.uuid5(section.uid, "category:projects"),
            "gradingPeriodSourcedId": asked.period or uuid.uuid5(section.uid, "period"),
            "resultValueMin": LOWEST,
            "resultValueMax": HIGHEST,
        }
        for project in results.projects
    ]


def _dates(project, told: list[dt.date], today: dt.date) -> tuple[dt.date, dt.date]:
    """Both are wanted: one stands in for the other, else the first day anything was published."""
    spare = min(told, default=today)
    begun = project.begun_on or project.due_on or spare
    return begun, project.due_on or begun


def result_rows(results: Results, asked: RegisterKeys, *, today: dt.date) -> list[dict]:
    """One row a student and project. Nothing unpublished has a score, and no 0 is made up."""
    return [
        {
            "sourcedId": result.uid,
            "lineItemSourcedId": project_uid(result.project),
            "studentSourcedId": sourced_id(result.student),
            "scoreStatus": result.state,
            "score": "" if result.percent is None else f"{result.percent:f}",
            "scoreDate": (result.published_on or today).isoformat(),
            "comment": result.grade,
        }
        for result in results.all()
        if result.percent is not None or not asked.only_scored
    ]


def _csv(head: tuple[str, ...], rows: Iterable[Mapping]) -> str:
    out = io.StringIO(newline="")
    writer = csv.DictWriter(out, head, restval="")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()
