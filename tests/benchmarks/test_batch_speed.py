"""How long a batch takes to load for judging: the pages stand on it."""

import time

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from rubrics.judging.batch import load_batch
from rubrics.publishing.publish import freeze
from rubrics.rubric.starter_rubric import ensure_starter_rubric
from rubrics.rubric.versions import choose_rubric
from studio.models import Project
from tests.judging.batches import make_batch

TARGET_S = 0.3
"""Server time for a whole page of 150 cups on two cores; loading may not use it up. [s]"""

pytestmark = pytest.mark.benchmark


def fresh(school) -> Project:
    """The project as a view fetches it."""
    return Project.objects.select_related("section", "plan__clay").get(pk=school.project.pk)


@pytest.mark.parametrize("cups", [150, 600])
def test_a_batch_loads_fast_and_in_as_many_queries(school, cups):
    choose_rubric(school.project, ensure_starter_rubric())
    make_batch(school, cups)
    taken = []
    for _ in range(3):
        project = fresh(school)
        # Time of this process, so that a neighbour on the machine does not count.
        begun = time.process_time()
        with CaptureQueriesContext(connection) as asked:
            batch = load_batch(project)
        taken.append(time.process_time() - begun)
    begun = time.process_time()
    freeze(batch, batch.pieces[0])
    one = time.process_time() - begun
    print(
        f"{cups} cups: {min(taken):.3f} s of processor, {len(asked)} queries; "
        f"freezing one piece {one * 1000:.0f} ms"
    )
    assert len(asked) <= 12
    assert min(taken) < TARGET_S * cups / 150
