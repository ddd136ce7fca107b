"""A check added in one file stands on every page, on paper, in files and before the translators.

The invented check reads a quantity of its own. What the recipe for a check asks for is in
``balance.py``; nothing else of the site is changed here but the list of quantities.
"""

import html
import io
import json
import zipfile
from pathlib import Path

import pytest
from django.core.management import call_command
from django.db import connection
from django.urls import reverse
from pypdf import PdfReader

from rubrics.checks import register, rim_level
from rubrics.judging import marking
from rubrics.models import Limit, Mark
from rubrics.publishing.publish import publish
from rubrics.reports import drawings
from rubrics.rubric.starter_rubric import ensure_starter_rubric
from rubrics.rubric.versions import choose_rubric, copy_rubric
from studio.measuring.readings_csv import parse
from studio.models import Outcome
from studio.ware.quantities import QUANTITIES
from tests.checks import balance
from tests.factories import make_piece, make_student, read
from tests.families.test_languages import catalogue, messages, spoken_files

KEY, FIGURE = balance.QUANTITY.key, "balance.tip_deg"
FOUND = "tips by 12.0°"
NEXT_TIME = "Next time, hang the handle lower."


@pytest.fixture
def known(monkeypatch):
    """The site with the invented check and its quantity."""
    monkeypatch.setitem(QUANTITIES, KEY, balance.QUANTITY)
    monkeypatch.setitem(register.checks(), "balance", balance.CHECK)


@pytest.fixture
def told(school, known):
    """A glazed cup that tips by 12°, level 2 of a limit 3, 8, 15, published; one still soft."""
    if connection.vendor == "sqlite":
        # The range of a quantity is a constraint that a migration writes; no migration is run here.
        connection.cursor().execute("PRAGMA ignore_check_constraints = ON")
    school.rubric = copy_rubric(ensure_starter_rubric(), school.teacher)
    handle = school.rubric.criteria.get(letter="E")
    Limit.objects.create(criterion=handle, figure=FIGURE, a=3, b=8, c=15)
    choose_rubric(school.project, school.rubric)
    school.piece.stage = "glazed"
    school.piece.save()
    read(school.piece, KEY, 12, stage="glazed", own_u=0.1)
    school.cam = make_student(school.section, "Cam D.")
    school.soft = make_piece(school.project, school.cam, "K3-09", stage="leather-hard")
    read(school.soft, KEY, 12, own_u=0.1)
    version = 0
    for criterion in school.rubric.criteria.all():
        level = 2 if criterion == handle else 3
        mark = marking.set_level(
            school.piece, criterion, level, school.teacher, expected_version=version
        )
        version = mark.assessment.version
    publish(school.project, school.teacher, [school.piece])
    school.handle = handle
    yield school
    if connection.vendor == "sqlite":
        connection.cursor().execute("PRAGMA ignore_check_constraints = OFF")


def page(client, told, name, *args, **query) -> str:
    client.force_login(told.teacher)
    response = client.get(reverse(name, args=args), query)
    assert response.status_code == 200, name
    content = response.content.decode()
    return content if response["Content-Type"] == "application/json" else html.unescape(content)


def pdf(client, told, name, *args) -> str:
    client.force_login(told.teacher)
    response = client.get(reverse(name, args=args))
    data = b"".join(response.streaming_content) if response.streaming else response.content
    text = " ".join(page.extract_text() for page in PdfReader(io.BytesIO(data)).pages)
    return " ".join(text.split())


needs_sqlite = pytest.mark.skipif(
    connection.vendor != "sqlite", reason="a new quantity needs its migration there"
)


@needs_sqlite
def test_it_is_drawn_and_told_on_every_page_that_shows_a_check(client, told):
    piece, project, section = told.piece.pk, told.project.pk, told.section.pk
    fragment = page(client, told, "piece_checks", piece)
    assert "The cup, hung" in fragment
    assert FOUND in fragment
    assert "tips 12.0°" in page(client, told, "row_check", piece, "balance")
    rows = json.loads(page(client, told, "rows_check", project, "balance"))
    assert "tips 12.0°" in rows[str(told.soft.pk)]
    shelf = page(client, told, "shelf", project, told.handle.pk)
    assert "tips 12.0°" in shelf
    assert "the balance" in shelf
    for name, *args in (
        ("judge_piece", piece),
        ("lift", piece, told.handle.pk),
        ("feedback", piece),
    ):
        assert FOUND in page(client, told, name, *args), name
    assert "The cup, hung" in page(client, told, "class_summary", section)
    assert "Move the handle's foot" in page(client, told, "mend_list", project)


@needs_sqlite
def test_its_figure_is_offered_shown_and_followed(client, told):
    label = "Balance: tip when hung"
    assert label in page(client, told, "rubric", told.rubric.pk)
    draft = copy_rubric(told.rubric, told.teacher)
    assert f"{label} [°]" in page(client, told, "rubric_edit", draft.pk)
    assert label in page(client, told, "progress", told.amara.pk)
    mark = Mark.objects.get(assessment__piece=told.piece, criterion=told.handle)
    assert mark.suggested == 2
    assert mark.suggested_because.startswith(f"{label} 12.0 ± 0.2°: between 8° and 15°")


@needs_sqlite
def test_it_stands_on_paper(client, told):
    printed = pdf(client, told, "feedback_pdf", told.piece.pk)
    assert FOUND in printed
    assert NEXT_TIME in printed
    assert "The cup, hung" in pdf(client, told, "class_summary_pdf", told.section.pk)
    assert NEXT_TIME in pdf(client, told, "report_pdf", told.section.pk, told.amara.pk)


@needs_sqlite
def test_it_leaves_in_files_and_comes_back(client, told, tmp_path, capsys):
    written = json.loads(page(client, told, "rubric_case", told.rubric.pk))
    assert FIGURE in json.dumps(written)
    client.force_login(told.teacher)
    answer = client.get(reverse("student_record", args=[told.amara.pk]), {"go": "1"})
    assert answer.status_code == 200
    if answer.streaming:
        with zipfile.ZipFile(io.BytesIO(b"".join(answer.streaming_content))) as record:
            told_files = b" ".join(record.read(name) for name in record.namelist())
        assert KEY.encode() in told_files
    rows = f"piece,stage,quantity,value\nK3-01,glazed,{KEY},12\n"
    assert not parse(rows.encode()).problems
    file = tmp_path / "readings.csv"
    file.write_text(rows)
    call_command("check_readings", file, "--json")
    results = json.loads(capsys.readouterr().out)
    assert results["pieces"]["K3-01"]["balance"]["tip_deg"] == 12


@needs_sqlite
def test_what_the_kiln_did_to_it_is_known(told):
    from rubrics.judging.batch import load_batch
    from rubrics.judging.kiln_excuses import proposals

    Outcome.objects.create(piece=told.piece, stage="glazed", kind="handle crack", doing="kiln")
    batch = load_batch(told.project, pieces=[told.piece])
    assert told.handle.pk in proposals(batch, told.piece)


def test_its_sentences_come_before_the_translators():
    found = messages([Path(balance.__file__)])
    assert {NEXT_TIME, "tips {tip}"} <= found
    # The test of the language files asks for every sentence of the checks: these would be missed.
    written, _ = catalogue("es")
    assert not found & {message.id for message in written}
    assert {Path(rim_level.__file__), Path(drawings.rim.__file__)} <= set(spoken_files())
