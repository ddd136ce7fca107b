"""How long the batch's pages take for 24, 150 and 600 cups, beside fetching the same rows plainly.

Prints a ratio: server time of the page over the time in which the same readings, pieces and
students come out of the database by plain SQL. Queries must not grow with the batch.
"""

import time

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from rubrics.models import Criterion
from rubrics.rubric.starter_rubric import ensure_starter_rubric
from rubrics.rubric.versions import choose_rubric
from tests.judging.batches import make_batch

pytestmark = pytest.mark.benchmark

BATCH = 150
BATCH_TARGET_S = 0.3
"""Server time of a page with 150 cups, on two cores that nobody else uses. [s]"""
MOST_QUERIES = 15
SAVE_TARGET_S = 0.05
"""From the key press to the answer. [s]"""

ROWS = """
SELECT p.id, p.code, p.stage, s.name, r.id, r.stage, r.quantity, r.name, r.height_mm, r.azimuth_deg,
       r.value, r.instrument_id, r.own_u
FROM studio_piece p
JOIN studio_student s ON s.id = p.student_id
LEFT JOIN studio_reading r ON r.piece_id = p.id AND r.superseded_at IS NULL
WHERE p.project_id = %s ORDER BY p.code
"""


def shortest(run, times=3):
    """The least processor time of a few runs: what the work itself takes. [s]"""
    taken = []
    for _ in range(times):
        begun = time.process_time()
        run()
        taken.append(time.process_time() - begun)
    return min(taken)


def pages(school):
    project = {"project_id": school.project.pk}
    criterion = Criterion.objects.get(rubric__uses__project=school.project, letter="D")
    return {
        "shelf": reverse("shelf", kwargs={**project, "criterion_id": criterion.pk}),
        "measuring grid": reverse("measure", kwargs=project) + "?stage=leather-hard&set=wall-12",
        "checks beside the rows": reverse("rows_check", kwargs={**project, "check": "rim_level"}),
        "look-over": reverse("look_over", kwargs=project),
        "project": reverse("project", kwargs=project),
    }


def test_the_batch_pages_stay_fast_and_ask_no_more(school):
    choose_rubric(school.project, ensure_starter_rubric())
    client = Client()
    client.force_login(school.teacher)
    asked, made = {}, 2
    for size in (24, BATCH, 600):
        make_batch_to(school, made, size)
        made = size
        plain_s = shortest(lambda: plain(school.project.pk))
        for name, path in pages(school).items():
            with CaptureQueriesContext(connection) as queries:
                assert client.get(path).status_code == 200
            count = len(queries)  # the next request empties the log
            page_s = shortest(lambda path=path: client.get(path))
            asked.setdefault(name, []).append(count)
            print(
                f"{size:>4} cups  {name:<24} {page_s:6.3f} s  {count:>2} queries  "
                f"{page_s / plain_s:6.1f} x plain SQL ({plain_s:.4f} s)"
            )
            if size == BATCH:
                assert page_s < BATCH_TARGET_S, name
    assert all(len(set(counts)) == 1 for counts in asked.values()), asked
    assert max(max(counts) for counts in asked.values()) <= MOST_QUERIES, asked


def make_batch_to(school, made, size):
    """Fill the batch up to ``size`` pieces; codes go on where they stopped."""
    make_batch(school, size - made, start=made)


def plain(project_id):
    with connection.cursor() as cursor:
        cursor.execute(ROWS, [project_id])
        return cursor.fetchall()


def test_saving_one_value_is_quick(school):
    client = Client()
    client.force_login(school.teacher)
    path = reverse("reading_save", kwargs={"project_id": school.project.pk})
    standing, values = [""], iter(range(60, 90))

    def save():
        sent = {
            "piece": school.piece.pk,
            "stage": "leather-hard",
            "set": "wall-4",
            "column": "z45-0",
            "value": str(next(values) / 10),
            "base": standing[0],
        }
        answer = client.post(path, sent)
        assert answer.status_code == 200, answer.content
        standing[0] = answer.json()["reading_id"]

    taken = shortest(save, times=5)
    print(f"saving one value: {taken * 1000:.1f} ms")
    assert taken < SAVE_TARGET_S
