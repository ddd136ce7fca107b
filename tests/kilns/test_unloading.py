"""What came out: outcomes for many, losses, neighbours, and what a kiln does over time."""

import pytest
from scipy.stats import binomtest

from studio.kilns import history as kiln_history
from studio.kilns import unloading
from studio.kilns.unloading import Finding, note_finding
from studio.models import Firing, Load, Outcome, Piece, WitnessCone
from studio.ware.outcomes import DEFECTS, advice_on
from tests.factories import make_firing, make_piece, make_student


@pytest.fixture
def firing(school):
    Piece.objects.update(stage="bone dry")
    return make_firing(
        school.teacher, school.piece, school.other_piece, kind="bisque", planned_cone="06"
    )


def loads(firing):
    return list(firing.loads.select_related("piece").order_by("piece__code"))


def test_a_blow_out_breaks_its_piece_and_names_whom_it_hurt(school, firing):
    burst, neighbour = loads(firing)
    finding = Finding(kind="blow-out", severity=3, note="Foot gone", hurt=[neighbour])
    (noted,) = note_finding(firing, [burst], finding, school.teacher)
    school.piece.refresh_from_db()
    assert (school.piece.state, school.piece.stage) == ("broken", "bisque")
    # The list proposes; blow-outs are for the teacher to rule.
    assert (noted.doing, noted.load, noted.noted_by) == ("unclear", burst, school.teacher)
    hit = school.other_piece.outcomes.get()
    assert (hit.kind, hit.doing, hit.hurt_by, hit.stage) == (
        "hit by shards",
        "kiln",
        noted,
        "bisque",
    )
    assert hit.note == "K3-01 burst beside it."
    school.other_piece.refresh_from_db()
    assert school.other_piece.state == "in work"


def test_the_teachers_ruling_outranks_the_list(school, firing):
    finding = Finding(kind="seam crack", doing="kiln")
    (noted,) = note_finding(firing, loads(firing)[:1], finding, school.teacher)
    assert (DEFECTS["seam crack"].doing, noted.doing) == ("craft", "kiln")


def test_noting_twice_changes_and_keeps_what_was_written(school, firing):
    one = loads(firing)[:1]
    note_finding(firing, one, Finding(kind="seam crack", note="At the foot"), school.teacher)
    note_finding(firing, one, Finding(kind="seam crack", severity=2), school.teacher)
    outcome = school.piece.outcomes.get()
    assert (outcome.severity, outcome.note) == (2, "At the foot")


def test_sound_gives_way_and_is_not_noted_beside_a_defect(school, firing):
    both = Load.objects.filter(firing=firing)
    note_finding(firing, loads(firing)[:1], Finding(kind="seam crack"), school.teacher)
    assert unloading.note_rest_sound(firing, both, school.teacher) == 1
    assert unloading.note_rest_sound(firing, both, school.teacher) == 0
    assert note_finding(firing, loads(firing)[:1], Finding(kind="sound"), school.teacher) == []
    note_finding(firing, loads(firing)[1:], Finding(kind="warp"), school.teacher)
    assert list(Outcome.objects.order_by("piece__code").values_list("kind", flat=True)) == [
        "seam crack",
        "warp",
    ]


def test_an_empty_kiln_brings_whole_pieces_on_and_never_back(school, firing):
    note_finding(firing, loads(firing)[:1], Finding(kind="blow-out", severity=3), school.teacher)
    assert unloading.finish(firing) == 1
    school.other_piece.refresh_from_db()
    assert school.other_piece.stage == "bisque"
    Piece.objects.filter(pk=school.other_piece.pk).update(stage="glazed")
    unloading.open_again(firing)
    assert firing.unloaded_on is None
    assert unloading.finish(firing) == 0
    school.other_piece.refresh_from_db()
    assert school.other_piece.stage == "glazed"


def test_every_defect_has_a_cause_a_why_and_advice():
    for defect in DEFECTS.values():
        if defect.word != "sound":
            assert defect.cause
            assert defect.why
            assert 10 < len(advice_on(defect.word)) <= 300  # a next step holds 300
    assert advice_on("a word of their own") == ""


def history(school, kind="bisque"):
    """The kiln's record of one kind of firing."""
    firing = Firing.objects.first()
    told = kiln_history.history(firing.kiln, Firing.objects.all(), Piece.objects.all())
    (found,) = [each for each in told.kinds if each.kind == kind]
    return found


def test_losses_are_told_with_their_interval_and_only_once_unloaded(school, firing):
    for number in range(3, 9):
        student = make_student(school.section, f"Student {number}")
        piece = make_piece(school.project, student, f"K3-{number:02}", stage="bone dry")
        Load.objects.create(firing=firing, piece=piece, shelf=2)
    one, two, *_rest = loads(firing)
    note_finding(firing, [one], Finding(kind="blow-out", severity=3, hurt=[two]), school.teacher)
    assert history(school).losses is None
    unloading.finish(firing)
    # A loss that was noted at the piece itself counts as well, and one at another stage does not.
    three = loads(firing)[2].piece
    Outcome.objects.create(piece=three, stage="bisque", kind="dunt", severity=3, doing="kiln")
    Outcome.objects.create(piece=two.piece, stage="glazed", kind="dunt", severity=3, doing="kiln")
    told = history(school)
    expected = binomtest(2, 8).proportion_ci(0.95, method="wilson")
    assert (told.losses.count, told.losses.total) == (2, 8)
    assert (told.losses.low, told.losses.high) == pytest.approx((expected.low, expected.high))
    assert [(each.kind, each.share.count) for each in told.causes] == [("blow-out", 1), ("dunt", 1)]
    assert [each.kind for each in told.kiln_marks] == ["hit by shards"]
    assert [(row.title, row.share.count) for row in told.projects] == [("Slab cup", 2)]


def test_a_piece_fired_twice_counts_its_outcome_in_the_firing_it_came_of(school, firing):
    again = make_firing(school.teacher, school.piece, kind="bisque", planned_cone="06")
    note_finding(
        again,
        again.loads.select_related("piece"),
        Finding(kind="dunt", severity=3),
        school.teacher,
    )
    for each in (firing, again):
        unloading.finish(each)
    assert (history(school).losses.count, history(school).losses.total) == (1, 3)


def test_the_cone_is_counted_shelf_by_shelf(school, firing):
    second = make_firing(school.teacher, kind="bisque", planned_cone="06")
    for each, bend in ((firing, "standing"), (second, "3")):
        WitnessCone.objects.create(firing=each, shelf=1, cone="06", bend=bend)
        WitnessCone.objects.create(firing=each, shelf=2, cone="06", bend="6")
    rows = {row.shelf: row.counts for row in history(school).shelves}
    assert kiln_history.VERDICTS == ("under", "on", "over", "not told")
    assert rows == {1: (2, 0, 0, 0), 2: (0, 2, 0, 0)}


def test_the_history_counts_only_what_its_reader_may_see(school, firing):
    unloading.finish(firing)
    kiln = firing.kiln
    (none,) = kiln_history.history(kiln, Firing.objects.all(), Piece.objects.none()).kinds
    assert (none.fired, none.losses) == (0, None)
    unseen = kiln_history.history(kiln, Firing.objects.none(), Piece.objects.all())
    assert (unseen.firings, unseen.kinds) == (0, [])


def test_bisque_and_glaze_loads_are_counted_apart(school):
    # 23 pieces through the bisque, the 22 that came out whole through the glaze fire; one lost in
    # the first, two in the second: 1 of 23 and 2 of 22, never 3 of 45.
    bisque = make_firing(school.teacher, kind="bisque", planned_cone="06")
    glaze = make_firing(school.teacher, kind="glazed", planned_cone="6")
    for number in range(10, 33):
        student = make_student(school.section, f"Student {number}")
        piece = make_piece(school.project, student, f"K3-{number}", stage="bone dry")
        Load.objects.create(firing=bisque, piece=piece, shelf=1)
    burst, *whole = loads(bisque)
    note_finding(bisque, [burst], Finding(kind="blow-out", severity=3), school.teacher)
    Load.objects.bulk_create(Load(firing=glaze, piece=each.piece, shelf=2) for each in whole)
    unloading.finish(bisque)
    lost = loads(glaze)[:2]
    note_finding(glaze, lost, Finding(kind="dunt", severity=3, doing="kiln"), school.teacher)
    unloading.finish(glaze)
    for kind, count, total in (("bisque", 1, 23), ("glazed", 2, 22)):
        told = history(school, kind)
        assert (told.losses.count, told.losses.total, told.firings) == (count, total, 1)
        expected = binomtest(count, total).proportion_ci(0.95, method="wilson")
        assert (told.losses.low, told.losses.high) == pytest.approx((expected.low, expected.high))
        assert [(row.share.count, row.share.total) for row in told.projects] == [(count, total)]
    assert [each.kind for each in history(school, "bisque").causes] == ["blow-out"]
    assert [each.kind for each in history(school, "glazed").causes] == ["dunt"]


def test_what_usually_decides_stands_with_what_is_not_always_the_kilns():
    for word in ("dunt", "craze", "shiver"):
        assert "What usually decides" in DEFECTS[word].why
        assert "no hand in it" not in DEFECTS[word].why
        assert "the making" in DEFECTS[word].why
        assert not advice_on(word).startswith("Nothing to do differently")
