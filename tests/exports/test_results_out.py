"""Results as OneRoster files and as grades: published figures only, names of fields as published.

Source of the names, their order and the words of scoreStatus: 1EdTech OneRoster 1.1, CSV tables;
written out here a second time and not taken from the code.
"""

import csv
import datetime as dt
import io
import re
import zipfile
from decimal import Decimal

import openpyxl
import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from rubrics.exports import grades, oneroster, results
from rubrics.exports.oneroster import RegisterKeys
from studio.models import Section, Student
from tests.exports.conftest import judge
from tests.factories import make_piece, make_project, make_student

LINE_ITEMS = (
    "sourcedId,status,dateLastModified,title,description,assignDate,dueDate,classSourcedId,"
    "categorySourcedId,gradingPeriodSourcedId,resultValueMin,resultValueMax"
)
RESULTS = (
    "sourcedId,status,dateLastModified,lineItemSourcedId,studentSourcedId,scoreStatus,score,"
    "scoreDate,comment"
)
MANIFEST = {
    "manifest.version": "1.0",
    "oneroster.version": "1.1",
    "file.academicSessions": "absent",
    "file.categories": "absent",
    "file.classes": "absent",
    "file.classResources": "absent",
    "file.courses": "absent",
    "file.courseResources": "absent",
    "file.demographics": "absent",
    "file.enrollments": "absent",
    "file.lineItems": "bulk",
    "file.orgs": "absent",
    "file.resources": "absent",
    "file.results": "bulk",
    "file.users": "absent",
    "source.systemName": "Rim & Reason",
    "source.systemCode": "rim-and-reason",
}
GUID = re.compile(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}")
TODAY = dt.date(2026, 3, 14)


def unpacked(section, **asked):
    data = oneroster.package(results.load(section), RegisterKeys(**asked), today=TODAY)
    with zipfile.ZipFile(io.BytesIO(data)) as parcel:
        return {name: parcel.read(name).decode("utf-8") for name in parcel.namelist()}


def rows(text):
    return list(csv.DictReader(io.StringIO(text, newline="")))


def test_the_files_and_headers_are_those_published(judged):
    files = unpacked(judged.section)
    assert list(files) == ["manifest.csv", "lineItems.csv", "results.csv"]
    assert files["lineItems.csv"].splitlines()[0] == LINE_ITEMS
    assert files["results.csv"].splitlines()[0] == RESULTS
    told = list(csv.reader(io.StringIO(files["manifest.csv"])))
    assert told[0] == ["propertyName", "value"]
    assert dict(told[1:]) == MANIFEST


def test_a_project_is_a_line_item(judged):
    (item,) = rows(unpacked(judged.section, period="spring")["lineItems.csv"])
    names = ("title", "assignDate", "dueDate", "gradingPeriodSourcedId")
    assert [item[name] for name in names] == ["Slab cup", "2026-02-02", "2026-03-02", "spring"]
    assert (item["resultValueMin"], item["resultValueMax"]) == ("0", "100")
    assert item["classSourcedId"] == str(judged.section.uid)
    assert all(GUID.fullmatch(item[name]) for name in ("sourcedId", "categorySourcedId"))
    assert (item["status"], item["dateLastModified"]) == ("", "")


def test_each_state_has_the_standards_word_and_only_the_published_a_score(judged):
    judged.amara.sourced_id = "register-1"
    judged.amara.save()
    files = unpacked(judged.section)
    names = {str(s.uid): s.name for s in Student.objects.all()} | {"register-1": "Amara O."}
    (item,) = rows(files["lineItems.csv"])
    told = rows(files["results.csv"])
    assert {names[row["studentSourcedId"]]: (row["scoreStatus"], row["score"]) for row in told} == {
        "Amara O.": ("fully graded", "100"),
        "Bao N.": ("partially graded", ""),
        "Cy D.": ("exempt", ""),
        "Dao P.": ("not submitted", ""),
        "Eve K.": ("submitted", ""),
    }
    assert {row["lineItemSourcedId"] for row in told} == {item["sourcedId"]}
    assert all(dt.date.fromisoformat(row["scoreDate"]) for row in told)


def test_what_is_decided_whole_and_not_published_is_no_partial_grade(judged):
    judge(judged.other_piece, judged.rubric, judged.teacher)
    told = rows(unpacked(judged.section)["results.csv"])
    names = {str(each.uid): each.name for each in Student.objects.all()}
    states = {names[row["studentSourcedId"]]: row["scoreStatus"] for row in told}
    assert states["Bao N."] == "submitted"


def test_rows_without_a_score_can_be_left_out(judged):
    (row,) = rows(unpacked(judged.section, only_scored=True)["results.csv"])
    assert (row["score"], row["comment"]) == ("100", "A")


def test_the_names_of_rows_stay_from_export_to_export(judged):
    first = unpacked(judged.section)
    judged.section = Section.objects.get(pk=judged.section.pk)
    assert unpacked(judged.section) == first
    ids = [row["sourcedId"] for row in rows(first["results.csv"])]
    assert len(set(ids)) == 5


def test_who_left_is_told_while_there_is_a_piece(judged):
    for student in (judged.amara, judged.dao):
        judged.section.enrolments.filter(student=student).update(left_on=dt.date(2100, 1, 1))
    told = [student.name for student, _row in results.load(judged.section).rows]
    assert told == ["Amara O.", "Bao N.", "Cy D.", "Eve K."]


def test_of_two_pieces_the_judged_one_counts(judged):
    make_piece(judged.project, judged.amara, "K3-09")
    found = results.load(judged.section)
    assert found.rows[0][1][0].percent == Decimal(100)


def test_a_large_class_costs_no_more_queries(judged):
    def cost():
        with CaptureQueriesContext(
            connection,
        ) as seen:
            results.load(judged.section)
        return len(seen)

    few = cost()
    other = make_project(judged.section, "Bowl", number=4)
    for number in range(8):
        student = make_student(judged.section, f"More {number}")
        make_piece(other, student, f"K4-{number}")
    assert cost() == few


HOSTILE = "=HYPERLINK(1)"


@pytest.mark.parametrize("name", [HOSTILE, "+1", "-1", "@a", "\t=1", "'=1"])
def test_no_name_runs_as_a_formula(judged, name):
    Student.objects.filter(pk=judged.amara.pk).update(name=name)
    found = results.load(judged.section)
    told = grades.as_csv(found).decode("utf-8-sig")
    cells = [row[0] for row in csv.reader(io.StringIO(told, newline=""))]
    assert "'" + name in cells
    sheet = openpyxl.load_workbook(io.BytesIO(grades.as_xlsx(found))).active
    hers = [cell for cell in sheet["A"] if cell.value == name.strip("\t")]
    assert [cell.data_type for cell in hers] == ["s"]


def test_the_grades_read_the_same_in_both_files(judged):
    found = results.load(judged.section)
    text = list(csv.reader(io.StringIO(grades.as_csv(found).decode("utf-8-sig"))))
    assert text[:3] == [
        ["Name", "School number", "Slab cup %", "Slab cup grade", "Slab cup state"],
        ["Amara O.", "", "100", "A", "fully graded"],
        ["Bao N.", "", "", "", "partially graded"],
    ]
    sheet = openpyxl.load_workbook(io.BytesIO(grades.as_xlsx(found))).active
    values = list(sheet.iter_rows(values_only=True))
    assert values[1] == ("Amara O.", None, 100, "A", "fully graded")
    assert [tuple("" if v is None else str(v) for v in row) for row in values] == [
        tuple(row) for row in text
    ]
    assert sheet["C2"].data_type == "n"
