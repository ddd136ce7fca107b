"""The wide form of readings: a line a piece, out and in without a change."""

import csv
import io

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from hypothesis import given
from hypothesis import strategies as st

from studio.measuring import readings_csv, readings_import, readings_wide
from studio.models import Instrument, Reading
from studio.ware.quantities import QUANTITIES
from tests.factories import read
from tests.pages import page_text

pytestmark = pytest.mark.django_db


def table(data: bytes) -> list[list[str]]:
    return list(csv.reader(io.StringIO(data.decode("utf-8-sig"))))


def as_file(rows) -> bytes:
    out = io.StringIO(newline="")
    csv.writer(out).writerows(rows)
    return out.getvalue().encode()


def look(school, data):
    return readings_import.preview(school.project, data, list(Instrument.objects.all()))


def take(school, data):
    seen = look(school, data)
    assert seen.problems == ()
    return readings_import.take(
        school.project, data, list(Instrument.objects.all()), by=school.teacher, seal=seen.seal
    )


@pytest.fixture
def measured(school):
    """Readings of every shape: names, heights, azimuths, one that is found, other units, tools."""
    tool = Instrument.objects.filter(unit="mm").first()
    read(school.piece, "dimension", 95, name="height", instrument=tool)
    read(school.piece, "dimension", 88.5, name="diameter", height_mm=50)
    read(school.piece, "wall_thickness", 6.2, height_mm=50, azimuth_deg=270)
    read(school.piece, "handle_top", 80, azimuth_deg=353)
    read(school.piece, "rim_height", 94.5, azimuth_deg=45, stage="bisque")
    inch = read(school.other_piece, "dimension", 6.35, name="base_thickness")
    Reading.objects.filter(pk=inch.pk).update(typed="1/4 in")
    return school


def test_what_goes_out_comes_back_without_a_change(measured):
    data = readings_import.export_wide(measured.project)
    head, *lines = table(data)
    assert head[:2] == ["piece", "stage"]
    assert "wall_thickness 50 mm 270° [mm]" in head
    assert "handle_top [mm]" in head
    assert [line[:2] for line in lines] == [
        ["K3-01", "leather-hard"], ["K3-01", "bisque"], ["K3-02", "leather-hard"],
    ]  # fmt: skip
    cells = dict(zip(head, lines[0], strict=True))
    assert cells["handle_top [mm]"] == "80 @ 353"
    assert dict(zip(head, lines[2], strict=True))["dimension base_thickness [mm]"] == "1/4 in"
    seen = look(measured, data)
    assert (seen.problems, seen.new, seen.corrected, seen.same) == ((), (), (), 6)


def test_a_changed_cell_supersedes_its_reading_and_keeps_its_instrument(measured):
    head, *lines = table(readings_import.export_wide(measured.project))
    at = head.index("dimension height [mm]")
    lines[0][at] = "96"
    saved = take(measured, as_file([head, *lines]))
    assert (saved.new, saved.corrected, saved.same) == (0, 1, 5)
    now = Reading.objects.current().get(piece=measured.piece, name="height")
    assert now.value == 96
    assert now.instrument == Instrument.objects.filter(unit="mm").first()


def test_an_empty_form_has_every_piece_and_is_taken_when_filled(client, measured):
    client.force_login(measured.teacher)
    path = f"/projects/{measured.project.pk}/readings.csv"
    sheet = client.get(f"/projects/{measured.project.pk}/measure/?set=rim-8&stage=glazed")
    assert f'{path}?form=empty&amp;set=rim-8&amp;stage=glazed"' in sheet.content.decode()
    answer = client.get(path, {"form": "empty", "set": "rim-8", "stage": "glazed"})
    head, *lines = table(answer.content)
    assert len(head) == 2 + 8
    assert [line[:2] for line in lines] == [["K3-01", "glazed"], ["K3-02", "glazed"]]
    assert {cell for line in lines for cell in line[2:]} == {""}
    for line in lines:
        line[2:] = [str(90 + n / 10) for n in range(8)]
    saved = take(measured, as_file([head, *lines]))
    assert (saved.new, saved.corrected) == (16, 0)


@pytest.mark.parametrize("key", sorted(QUANTITIES))
def test_every_quantity_has_a_heading_that_is_read_again(key):
    quantity = QUANTITIES[key]
    name = (quantity.names or ("height",))[0] if quantity.names != () else ""
    height = "50" if quantity.has_height else ""
    azimuth = "-7.5" if quantity.has_azimuth and not quantity.azimuth_is_found else ""
    head = readings_wide.heading(key, name, height, azimuth, unit=quantity.unit)
    (_, row) = readings_wide.narrowed([(1, 1, ["piece", "stage", head]), (2, 2, ["A", "wet", "5"])])
    assert row[2][2:] == [key, name, height, azimuth, "5", quantity.unit, readings_wide.NOT_TOLD]


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        ([["piece", "stage", "wal_thickness 50 mm 0° [mm]"]], "Did you mean wall_thickness?"),
        ([["piece", "stage", "notes"]], "names no reading"),
        ([["piece", "stage"], ["K3-01", "wet"]], "no column for a reading"),
        (
            [["piece", "stage", "rim_height 0° [mm]", "rim_height 0° [mm]"]],
            "stands twice in the first row",
        ),
        ([["piece", "stage", "rim_height 0° [mm]"], ["K3-01", "wet", "tall"]], "tall"),
        ([["piece", "stage", "rim_height 0° [g]"], ["K3-01", "wet", "95"]], "g"),
        ([["piece", "stage", "rim_height 0° [mm]"], ["K9-01", "wet", "95"]], "no piece “K9-01”"),
        ([["piece", "stage", "rim_height 0° [mm]"]], "no reading under it"),
    ],
)
def test_what_cannot_be_read_is_a_sentence_with_its_line(client, school, rows, said):
    seen = look(school, as_file(rows))
    told = " ".join(str(each) for each in seen.problems)
    assert said in told
    client.force_login(school.teacher)
    answer = client.post(
        f"/projects/{school.project.pk}/readings/import/",
        {"file": SimpleUploadedFile("a.csv", as_file(rows))},
    )
    assert answer.status_code == 422
    assert "Nothing was taken" in page_text(answer)


HEADS = st.one_of(
    st.sampled_from(sorted(QUANTITIES)).map(lambda key: f"{key} 5 mm [mm]"),
    st.from_regex(r"[a-z_]{1,12}( [a-z0-9_.,°-]{1,6}){0,3}( \\[[a-z]{1,3}\\])?", fullmatch=True),
    st.text(max_size=30),
)


@given(
    st.lists(HEADS, max_size=4),
    st.lists(st.lists(st.text(max_size=12), max_size=7), max_size=4),
)
def test_whatever_stands_in_a_file_is_a_reading_or_a_sentence(heads, rows):
    data = as_file([["piece", "stage", *heads], *rows])
    parsed = readings_csv.parse(data, other_form=readings_wide.narrowed)
    assert parsed.rows or parsed.problems
    assert all(str(each) for each in parsed.problems)


def test_plain_numbers_are_in_the_headings_unit(school):
    school.section.unit = "in"
    school.section.save()
    rows = [["piece", "stage", "dimension height [in]"], ["K3-01", "bisque", "3.5"]]
    rows.append(["K3-02", "bisque", "90 mm"])
    take(school, as_file(rows))
    values = {r.piece.code: r.value for r in Reading.objects.current().select_related("piece")}
    assert values == {"K3-01": pytest.approx(88.9), "K3-02": 90}
    seen = look(school, readings_import.export_wide(school.project))
    assert (seen.problems, seen.same, seen.corrected) == ((), 2, ())
