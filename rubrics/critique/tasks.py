"""What critiques ask of a student: pieces to read, remarks that came back, remarks to answer."""

from __future__ import annotations

from django.db.models import Count, Exists, OuterRef, Q

from rubrics.critique import doors
from rubrics.judging.student_tasks import Task
from rubrics.models import EyeLevel, Remark
from studio import access


def critique_tasks(user) -> list[Task]:
    """What waits on a student; three queries."""
    back = Remark.objects.filter(look=OuterRef("pk"), state=Remark.State.BACK)
    tasks = []
    for look in doors.looks(user).annotate(has_back=Exists(back)):
        piece = look.shown.piece
        if look.has_back:
            said = f"A remark of yours on {piece.code} came back. Say it another way."
            tasks.append(Task(said, "Write it again", "look", piece, look.pk))
        elif look.sent_at is None:
            said = f"{piece.code} is yours to read: what do you see, what works, what to try?"
            tasks.append(Task(said, "Look at it", "look", piece, look.pk))
    unanswered = Remark.objects.passed().filter(
        look__shown__piece__in=access.own_pieces(user).values("pk"), answer=""
    )
    counts = dict(
        unanswered.values_list("look__shown__piece").annotate(count=Count("pk")).order_by()
    )
    for piece in access.own_pieces(user).filter(pk__in=counts).select_related("project"):
        count = counts[piece.pk]
        noun = "remark" if count == 1 else "remarks"
        said = f"{count} {noun} on {piece.code} came. Read, and say what you make of it."
        tasks.append(Task(said, "Read and answer", "remarks", piece))
    return tasks


def eyes_to_set(user):
    """Anchor cups that this student has not levelled yet."""
    mine = EyeLevel.objects.filter(Q(by=user) | Q(student__login=user), cup__setting=OuterRef("pk"))
    return doors.eye_settings(user).filter(compared_at=None).exclude(Exists(mine))
