"""The demo's student at work: an own judgement before reading, and an answer to the next step."""

from rubrics.judging.self_judging import OwnJudgement, judge_own
from rubrics.models import NextStep
from rubrics.publishing.next_steps import answer_step

OWN_LEVELS = {"A": 3, "B": 3, "C": 3, "D": 3, "E": 2, "F": 4, "G": 3, "H": 4, "I": 3}
WORKED = "The texture leads to the handle, and I measured the rim twice."
TO_TRY = "Roll the slab on both faces before I cut."
REPLY = "I will check four places with the needle before I cut the pattern."


def judge_as_maker(piece, criteria) -> None:
    """Judge a piece as its own maker, before the teacher's marks are told."""
    levels = {each.pk: OWN_LEVELS[each.letter] for each in criteria if each.letter in OWN_LEVELS}
    judge_own(piece, piece.student.login, OwnJudgement(levels, WORKED, TO_TRY))


def answer_steps(piece) -> None:
    """Take up what was told of a piece."""
    for step in NextStep.objects.filter(
        assessment__piece=piece, assessment__kind="teacher", assessment__published_at__isnull=False
    ):
        answer_step(step, taken_up=True, reply=REPLY)
