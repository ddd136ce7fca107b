"""Two people who save at the same moment: neither loses anything."""

from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import pytest
from django.db import connections

from rubrics.judging.marking import Stale, keep_rest, set_level
from rubrics.models import Assessment, Mark, MarkChange
from tests.factories import read_wall

pytestmark = pytest.mark.django_db(transaction=True)


def at_once(*calls):
    """Run the calls at the same moment; give back what each returned or raised."""
    gate = Barrier(len(calls))

    def run(call):
        gate.wait()
        try:
            return call()
        except Exception as error:
            return error
        finally:
            connections.close_all()

    with ThreadPoolExecutor(len(calls)) as pool:
        return list(pool.map(run, calls))


def test_two_first_marks_of_a_piece_make_one_assessment(judged):
    found = at_once(
        lambda: set_level(judged.piece, judged.c["A"], 4, judged.teacher, expected_version=0),
        lambda: set_level(judged.piece, judged.c["F"], 2, judged.teacher, expected_version=0),
    )
    assert [type(each) for each in found] == [Mark, Mark]
    assert Assessment.objects.get().version == 2


def test_two_levels_of_one_mark_at_once_tell_the_second(judged):
    found = at_once(
        lambda: set_level(judged.piece, judged.c["A"], 4, judged.teacher, expected_version=0),
        lambda: set_level(judged.piece, judged.c["A"], 2, judged.teacher, expected_version=0),
    )
    assert {type(each) for each in found} == {Mark, Stale}
    assert MarkChange.objects.count() == 1


def test_keeping_the_rest_twice_at_once_keeps_it_once(judged):
    for piece in (judged.piece, judged.other_piece):
        read_wall(piece, 6.0, 6.1, 6.0, 6.0)
    call = lambda: keep_rest(judged.project, judged.c["B"], judged.teacher)  # noqa: E731
    found = at_once(call, call)
    assert sorted(len(each.pieces) for each in found) == [0, 2]
    assert Mark.objects.count() == 2
