"""Processes that measure: what they give back, and what their end costs."""

import os

import pytest
from django.db import connection

from studio.models import Photo
from studio.photos import filing, measuring_work, reading, workers
from studio.photos.workers import WorkError
from tests.photos import odd_work
from tests.photos.photo_files import NO_SLIP, PHOTOS, SIDE

LONG_S = 60


def test_work_is_done_elsewhere_without_a_database_and_tells_how_it_goes():
    told = list(workers.steps(odd_work.echo, "a", "b", seconds=LONG_S))
    assert [content for kind, content in told if kind == workers.SAID] == [(1, 2), (2, 2)]
    kind, (words, process, has_database) = told[-1]
    assert (kind, words, has_database) == (workers.DONE, ("a", "b"), False)
    assert process != os.getpid()
    assert (
        workers.run(odd_work.echo, seconds=LONG_S)[1] == process
    )  # the same one, for the next work


def test_one_that_dies_costs_a_sentence_and_the_next_work_is_done():
    with pytest.raises(WorkError, match="Measure again"):
        workers.run(odd_work.die, seconds=LONG_S)
    assert workers.run(odd_work.echo, "a", seconds=LONG_S)[0] == ("a",)


def test_one_that_ended_for_want_of_work_is_replaced_unnoticed():
    before = workers.run(odd_work.echo, seconds=LONG_S)[1]
    os.kill(before, 9)
    after = workers.run(odd_work.echo, "a", seconds=LONG_S)
    assert after[0] == ("a",)
    assert after[1] != before


def test_one_that_takes_too_long_is_stopped():
    workers.run(odd_work.echo, seconds=LONG_S)
    with pytest.raises(WorkError, match="too long"):
        workers.run(odd_work.sleep, 600, seconds=0.2)
    assert workers.run(odd_work.echo, "a", seconds=LONG_S)[0] == ("a",)


def test_who_stops_listening_frees_the_place():
    steps = workers.steps(odd_work.sleep, 600, seconds=LONG_S)
    assert next(steps) == (workers.SAID, ("asleep",))
    steps.close()
    assert workers.run(odd_work.echo, "a", seconds=LONG_S)[0] == ("a",)


@pytest.mark.skipif(not os.path.exists("/proc/self/statm"), reason="no limit on this system")
@pytest.mark.parametrize(
    ("work", "size"),
    [(odd_work.take_memory, 2 * workers.MEMORY_BYTES), (odd_work.take_memory_in_pictures, 30_000)],
    ids=["numpy", "OpenCV"],
)
def test_one_that_wants_too_much_memory_is_refused_in_a_sentence(work, size):
    with pytest.raises(WorkError, match="memory"):
        workers.run(work, size, seconds=LONG_S)


def test_a_fault_of_ours_is_written_to_the_log(caplog):
    with pytest.raises(WorkError):
        workers.run(odd_work.fault, seconds=LONG_S)
    assert "ZeroDivisionError: of ours" in caplog.text


def test_a_file_that_is_gone_does_not_keep_the_others(tmp_path):
    photos = [
        measuring_work.KeptPhoto("1", "a.jpg", str(tmp_path / "a.jpg"), None),
        measuring_work.KeptPhoto("2", SIDE, str(PHOTOS / SIDE), 52),
    ]
    seen = workers.run(measuring_work.together, photos, 100, seconds=LONG_S)
    assert seen["1"].message == measuring_work.GONE
    # Outside: truth.json says that K3-01 is on this photo's slip.
    assert (seen["2"].code, seen["2"].view) == ("K3-01", "side")


# -- with the record ------------------------------------------------------------------------------


@pytest.fixture
def photos(school):
    """Two pieces with a photo each, not measured yet."""
    kept = []
    for file in (SIDE, NO_SLIP):
        data = (PHOTOS / file).read_bytes()
        kept.append(filing.take_and_file(school.section, data, file, school.teacher).photo)
    return kept


@pytest.mark.django_db
def test_many_are_measured_and_what_is_left_is_counted(photos):
    came = reading.measure_all(photos, LONG_S)
    assert (came.done, came.left, came.problems) == ({p.pk for p in photos}, 0, ())
    for photo in photos:
        photo.refresh_from_db()
        assert photo.found["measured"]
    assert reading.measure_all(photos, -1).left == len(photos)


@pytest.mark.django_db
def test_a_batch_goes_on_when_a_process_dies_over_one_piece(photos, monkeypatch, client, school):
    first = str(photos[0].pk)

    def run(work, kept, bar_mm, *, seconds):
        gone = kept[0].key == first
        return (
            real(odd_work.die, seconds=seconds)
            if gone
            else real(work, kept, bar_mm, seconds=seconds)
        )

    real = workers.run
    monkeypatch.setattr(workers, "run", run)
    came = reading.measure_all(photos, LONG_S)
    assert came.done == {photos[1].pk}
    assert came.problems == (f"{photos[0].piece}: {workers.DIED}",)
    client.force_login(school.teacher)
    shown = client.get(f"/projects/{school.project.pk}/photos/").content.decode()
    assert "not measured yet" in shown
    assert workers.DIED in shown
    told = client.post(f"/photos/{first}/read/", headers={"accept": "application/json"}).json()
    assert told == {"problem": workers.DIED}
    told = client.post(f"/photos/{first}/read/", follow=True).content.decode()
    assert workers.DIED in told
    assert not Photo.objects.get(pk=first).found["measured"]


@pytest.mark.django_db
def test_threads_that_wait_open_no_connection(photos, monkeypatch):
    opened = []
    monkeypatch.setattr(type(connection), "connect", opened.append, raising=False)
    reading.measure_all(photos, LONG_S)
    assert opened == []
