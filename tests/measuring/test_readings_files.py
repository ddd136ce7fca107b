"""Files of readings over real requests."""

import re

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from studio.measuring.readings_csv import COLUMNS
from studio.models import Instrument, Reading
from tests.factories import read, read_wall

pytestmark = pytest.mark.django_db

HEADER = ",".join(COLUMNS)
GOOD = f"{HEADER}\r\nK3-01,leather-hard,wall_thickness,,45,0,6.4,mm,calliper\r\n".encode()


@pytest.fixture
def teacher(client, school):
    client.force_login(school.teacher)
    return client


def address(school):
    return reverse("readings_import", args=[school.project.pk])


def look(client, school, data, name="readings.csv"):
    return client.post(address(school), {"file": SimpleUploadedFile(name, data)})


def confirm(client, school, page):
    """Press the button: send back the hidden fields of the page as a browser does."""
    from html import unescape

    fields = re.findall(r'<input type="hidden" name="(seal|text)" value="([^"]*)">', page)
    sent = {name: unescape(value).replace("\n", "\r\n") for name, value in fields}
    assert set(sent) == {"seal", "text"}
    return client.post(address(school), sent, follow=True)


def test_look_then_take(teacher, school):
    response = look(teacher, school, GOOD)
    page = response.content.decode()
    assert response.status_code == 200
    assert "1 new, 0 superseded, 0 here already" in page
    assert Reading.objects.count() == 0
    taken = confirm(teacher, school, page).content.decode()
    assert "1 new, 0 superseded, 0 were there already." in taken
    assert Reading.objects.get().made_by == school.teacher


def test_the_same_file_twice_changes_nothing(teacher, school):
    confirm(teacher, school, look(teacher, school, GOOD).content.decode())
    page = look(teacher, school, GOOD).content.decode()
    assert "Nothing new" in page
    assert "Take all of it" not in page
    assert Reading.objects.count() == 1


def test_quotes_and_inch_marks_survive_the_hidden_field(teacher, school):
    data = f'{HEADER}\nK3-01,wet,wall_thickness,,45,0,"1/4""",,\n'.encode()
    confirm(teacher, school, look(teacher, school, data).content.decode())
    assert Reading.objects.get().typed == "1/4 in"


def test_a_faulty_file_is_told_by_line_and_not_taken(teacher, school):
    data = GOOD + b"K3-99,leather-hard,wall_thickness,,45,0,6.4,mm,\r\n,,,\r\nK3-01,wet,x,,,,,,\r\n"
    response = look(teacher, school, data)
    page = response.content.decode()
    assert response.status_code == 422
    assert "Not yet: 2 problems" in page
    assert '<td class="num">3</td><td>There is no piece “K3-99” in this project.' in page
    assert '<td class="num">5</td><td>The value is missing.' in page
    assert "Take all of it" not in page
    assert Reading.objects.count() == 0


def test_a_file_made_to_hurt_the_page_is_shown_as_text(teacher, school):
    data = f"{HEADER}\n<script>alert(1)</script>,wet,rim_height,,,0,95,mm,\n".encode()
    page = look(teacher, school, data).content.decode()
    assert "<script>alert" not in page
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in page


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "The file is empty. Choose another."),
        (b"PK\x03\x04", "In the spreadsheet choose save as, CSV."),
        (b"\xff\xfe\x00", "The file"),
        (b"x" * (4 * 1024 * 1024 + 1), "larger than 4 MB"),
    ],
)
def test_what_is_no_file_of_readings(teacher, school, data, said):
    response = look(teacher, school, data)
    assert response.status_code == 422
    assert said in response.content.decode()


def test_no_file_at_all(teacher, school):
    response = teacher.post(address(school), {})
    assert response.status_code == 422
    assert "This field is required." in response.content.decode()


def test_what_another_window_changed_meanwhile_is_shown_first(teacher, school):
    page = look(teacher, school, GOOD).content.decode()
    read(school.piece, "wall_thickness", 7.0, height_mm=45, azimuth_deg=0)
    response = confirm(teacher, school, page)
    again = response.content.decode()
    assert response.status_code == 409
    assert "While you looked, readings of these stations were changed." in again
    assert "0 new, 1 superseded" in again
    assert Reading.objects.current().get().value == 7.0
    confirm(teacher, school, again)
    assert Reading.objects.current().get().value == 6.4


def test_a_forged_confirmation_takes_nothing(teacher, school):
    response = teacher.post(address(school), {"seal": "x", "text": GOOD.decode()})
    assert response.status_code == 409
    assert Reading.objects.count() == 0


def test_the_file_goes_out_as_a_download_and_back_in_unchanged(teacher, school):
    read_wall(school.piece, 6.4, 6.2, 6.0, 6.1)
    response = teacher.get(reverse("readings_export", args=[school.project.pk]))
    assert response["Content-Type"] == "text/csv; charset=utf-8"
    assert response["Content-Disposition"] == 'attachment; filename="slab-cup-readings.csv"'
    page = look(teacher, school, response.content).content.decode()
    assert "All 4 readings of the file are here already." in page


@pytest.mark.parametrize(
    ("who", "export", "bring_in"),
    [("head", 200, 403), ("colleague", 404, 404), ("student", 404, 404), ("outsider", 404, 404)],
)
def test_doors(client, school, who, export, bring_in):
    client.force_login(getattr(school, who))
    url = reverse("readings_export", args=[school.project.pk])
    assert client.get(url).status_code == export
    assert client.get(address(school)).status_code == bring_in
    assert look(client, school, GOOD).status_code == bring_in
    assert Reading.objects.count() == 0


# -- instruments -----------------------------------------------------------------------------


def add(client, **fields):
    data = {"name": "dial gauge", "unit": "mm", "resolution": "0.01", "repeatability": "0.02"}
    return client.post(reverse("instruments"), data | fields, follow=True)


def test_an_own_instrument_is_added_and_changed(teacher, school):
    page = add(teacher, resolution="1/16 in").content.decode()
    mine = Instrument.objects.get(name="dial gauge")
    assert "dial gauge is kept." in page
    assert (mine.owner, mine.resolution, mine.repeatability) == (school.teacher, 1.5875, 0.02)
    url = reverse("instrument", args=[mine.pk])
    assert 'value="1.5875"' in teacher.get(url).content.decode()
    changed = {"name": "dial gauge", "unit": "mm", "resolution": "0.05", "repeatability": "0"}
    teacher.post(url, changed)
    mine.refresh_from_db()
    assert (mine.resolution, mine.repeatability) == (0.05, 0)


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"resolution": "0"}, "The smallest step is above zero."),
        ({"resolution": "fine"}, "“fine” is not a size."),
        ({"resolution": "-1"}, "below zero"),
        ({"resolution": "4000"}, "That is coarser than 50 mm. Look again."),
        ({"repeatability": "1 g"}, "is in g, but this is read in mm"),
        ({"name": "Calliper"}, "There is an instrument called Calliper already."),
        ({"name": "photo"}, "marks readings from photographs"),
        ({"name": "a\\b"}, "without line breaks and backslashes"),
        ({"name": ""}, "This field is required."),
    ],
)
def test_a_faulty_instrument_keeps_what_was_entered(teacher, school, fields, said):
    response = add(teacher, **fields)
    page = response.content.decode()
    assert response.status_code == 422
    assert said in page.replace("&#x27;", "'")
    assert 'value="0.02"' in page or "repeatability" in fields
    assert not Instrument.objects.filter(owner=school.teacher).exists()


def test_a_shipped_instrument_is_nobody_s_to_change(teacher, school):
    calliper = Instrument.objects.get(name="calliper", owner=None)
    assert teacher.get(reverse("instrument", args=[calliper.pk])).status_code == 403


def test_another_s_instrument_is_not_there(client, teacher, school):
    add(teacher)
    mine = Instrument.objects.get(name="dial gauge")
    client.force_login(school.colleague)
    assert client.get(reverse("instrument", args=[mine.pk])).status_code == 404


def test_students_keep_no_instruments(client, school):
    client.force_login(school.student)
    assert client.get(reverse("instruments")).status_code == 403
