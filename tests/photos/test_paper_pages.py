"""The paper from the site: who prints it, and how true a print counts."""

import pytest
from pypdf import PdfReader

from tests import factories

pytestmark = pytest.mark.django_db


def words(answer, tmp_path) -> list[str]:
    assert answer["Content-Type"] == "application/pdf"
    path = tmp_path / "answer.pdf"
    path.write_bytes(b"".join(answer) if answer.streaming else answer.content)
    return [w for page in PdfReader(path).pages for w in page.extract_text().split()]


def test_slips_name_every_piece_of_the_project_and_no_student(client, school, tmp_path):
    client.force_login(school.teacher)
    answer = client.get(f"/projects/{school.project.pk}/slips-letter.pdf")
    assert words(answer, tmp_path) == ["K3-01", "K3-02"]


def test_a_project_without_pieces_says_so(client, school):
    client.force_login(school.teacher)
    empty = factories.make_project(school.section, "Bowl", number=4)
    answer = client.get(f"/projects/{empty.pk}/slips-a4.pdf", follow=True)
    assert "There are no pieces yet." in answer.content.decode()


def test_anybody_signed_in_prints_the_mat(client, school, tmp_path):
    client.force_login(school.student)
    assert "Measured:" in words(client.get("/photo-mat-a4.pdf"), tmp_path)
    assert client.get("/photo-mat-a5.pdf").status_code == 404


@pytest.mark.parametrize(("typed", "kept"), [("98.6", 98.6), ("9.86 cm", 98.6), ("97,5 mm", 97.5)])
def test_the_bar_is_typed_back_in_as_a_ruler_is_read(client, school, typed, kept):
    client.force_login(school.teacher)
    client.post(f"/projects/{school.project.pk}/paper/", {"mat_bar_mm": typed})
    school.section.refresh_from_db()
    assert school.section.mat_bar_mm == pytest.approx(kept)


@pytest.mark.parametrize("typed", ["", "79", "4 in", "130", "long"])
def test_what_no_printer_does_is_refused_and_what_was_typed_stays(client, school, typed):
    client.force_login(school.teacher)
    page = client.post(f"/projects/{school.project.pk}/paper/", {"mat_bar_mm": typed})
    if typed == "4 in":  # 101.6 mm: a bar can be read in inches
        assert page.status_code == 302
        return
    assert 'aria-invalid="true"' in page.content.decode()
    assert f'value="{typed}"' in page.content.decode() or not typed
    school.section.refresh_from_db()
    assert school.section.mat_bar_mm == 100


def test_a_head_reads_the_bar_and_does_not_set_it(client, school):
    client.force_login(school.head)
    path = f"/projects/{school.project.pk}/paper/"
    assert "It measures" in client.get(path).content.decode()
    assert client.post(path, {"mat_bar_mm": "98"}).status_code == 403


def test_the_database_refuses_a_bar_that_no_printer_makes(school):
    from django.db import IntegrityError, transaction

    school.section.mat_bar_mm = 60
    with pytest.raises(IntegrityError, match="check_bar_plausible"), transaction.atomic():
        school.section.save()
