"""What somebody judged of a piece."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from studio.models import Piece

from .rubrics import Criterion, Level, Rubric


class AssessmentQuerySet(models.QuerySet):
    """Named questions about assessments."""

    def by_teacher(self):
        return self.filter(kind=Assessment.Kind.TEACHER)

    def published(self):
        return self.filter(published_at__isnull=False)


class Assessment(models.Model):
    """One look at one piece. ``version`` counts its writes, so that two windows never collide."""

    class Kind(models.TextChoices):
        TEACHER = "teacher", "the teacher's"
        SELF = "self", "the student's own"
        SECOND = "second", "a second look"
        PEER = "peer", "a fellow student's"

    piece = models.ForeignKey(Piece, on_delete=models.CASCADE, related_name="assessments")
    rubric = models.ForeignKey(Rubric, on_delete=models.PROTECT, related_name="assessments")
    kind = models.CharField(max_length=8, choices=Kind, default=Kind.TEACHER)
    assessor = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="assessments"
    )
    version = models.PositiveIntegerField(default=0, help_text="Counts writes.")
    words = models.TextField("the teacher's words", blank=True, max_length=4000)
    strength = models.CharField(
        max_length=300,
        blank=True,
        help_text="What is strong, in the teacher's sentence; empty: the one that is proposed.",
    )
    begun_at = models.DateTimeField(auto_now_add=True)
    published_at = models.DateTimeField(null=True, blank=True)
    published_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    shown = models.JSONField(
        null=True, blank=True, help_text="The figures a published assessment showed, frozen."
    )

    objects = AssessmentQuerySet.as_manager()

    class Meta:
        ordering = ("pk",)
        constraints = [
            models.UniqueConstraint(
                fields=("piece",),
                condition=Q(kind="teacher"),
                name="one_teachers_assessment_a_piece",
            ),
            models.UniqueConstraint(
                fields=("piece", "assessor", "kind"),
                condition=~Q(kind="teacher"),
                name="one_assessment_a_reader",
            ),
            models.CheckConstraint(
                condition=Q(published_at__isnull=True) | Q(shown__isnull=False),
                name="published_with_its_figures",
            ),
        ]

    def __str__(self):
        return f"{self.get_kind_display()} of {self.piece}"


class MarkQuerySet(models.QuerySet):
    """Named questions about marks."""

    def by_teacher(self):
        return self.filter(assessment__kind=Assessment.Kind.TEACHER)

    def unexplained(self):
        """Those whose :attr:`Mark.wants_reason` holds."""
        leaves = Q(level__isnull=False, suggested__isnull=False) & ~Q(level__number=F("suggested"))
        return self.filter(Q(excused=True) | leaves, reason="", reason_text="")

    def decided(self):
        """With a level, or excused; a mark that was cleared stays as an empty row."""
        return self.filter(Q(level__isnull=False) | Q(excused=True))


class Mark(models.Model):
    """The level of one criterion in one assessment, beside what the checks suggested."""

    class Reason(models.TextChoices):
        SEEN = "seen", "Seen on the piece, not in the readings"
        WRONG_READING = "reading", "A reading is wrong or missing"
        MENDED = "mended", "Mended since it was measured"
        DESIGN = "design", "Meant so: part of the design"
        KILN = "kiln", "The kiln's doing"
        ACCESS = "access", "An agreed accommodation"
        OTHER = "other", "Something else"

    assessment = models.ForeignKey(Assessment, on_delete=models.CASCADE, related_name="marks")
    criterion = models.ForeignKey(Criterion, on_delete=models.PROTECT, related_name="marks")
    level = models.ForeignKey(
        Level, on_delete=models.PROTECT, null=True, blank=True, related_name="marks"
    )
    excused = models.BooleanField(default=False)
    suggested = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="The level the checks suggested when this was decided."
    )
    suggested_because = models.CharField(max_length=300, blank=True)
    reason = models.CharField(max_length=8, choices=Reason, blank=True)
    reason_text = models.CharField(max_length=240, blank=True)
    note = models.TextField(blank=True, max_length=1000, help_text="For the student.")

    objects = MarkQuerySet.as_manager()

    class Meta:
        ordering = ("pk",)
        constraints = [
            models.UniqueConstraint(
                fields=("assessment", "criterion"), name="one_mark_a_criterion"
            ),
            models.CheckConstraint(
                condition=Q(excused=False) | Q(level__isnull=True), name="excused_has_no_level"
            ),
            models.CheckConstraint(
                condition=Q(suggested__isnull=True) | Q(suggested__gte=1, suggested__lte=4),
                name="suggested_is_1_to_4",
            ),
        ]

    def __str__(self):
        return f"{self.criterion}: {'excused' if self.excused else self.level}"

    @property
    def decided(self) -> bool:
        """Whether there is a level, or the criterion is excused."""
        return self.excused or self.level_id is not None

    @property
    def wants_reason(self) -> bool:
        """Whether it leaves the suggestion, or is excused, and nobody has said why.

        Costs a query unless ``level`` was fetched with the mark.
        """
        said = bool(self.reason or self.reason_text.strip())
        return not said and (self.excused or self.leaves_suggestion)

    @property
    def leaves_suggestion(self) -> bool:
        """Whether the level is another than the one suggested when it was given.

        Costs a query unless ``level`` was fetched with the mark.
        """
        return (
            self.level_id is not None
            and self.suggested is not None
            and self.level.number != self.suggested
        )


class MarkChangeQuerySet(models.QuerySet):
    """Named questions about changes."""

    def standing(self):
        """Those that were not taken back."""
        return self.filter(undone_at__isnull=True)

    def undoable_by(self, user, project):
        """What this user's undo would walk back in this project, latest first."""
        return (
            self.standing()
            .filter(
                who=user,
                assessment__piece__project=project,
                assessment__published_at__isnull=True,
                mark__isnull=False,
                after_publishing=False,
            )
            .order_by("-pk")
        )


class MarkChange(models.Model):
    """One change of one mark: what undo walks back, and the record of a published grade.

    ``mark`` is empty where the words of a published assessment changed, not a level.
    """

    assessment = models.ForeignKey(Assessment, on_delete=models.CASCADE, related_name="changes")
    mark = models.ForeignKey(
        Mark, on_delete=models.CASCADE, null=True, blank=True, related_name="changes"
    )
    version = models.PositiveIntegerField(help_text="The assessment's count after this change.")
    together = models.UUIDField(
        null=True, blank=True, help_text="Changes made by one key share it and are undone at once."
    )
    who = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    at = models.DateTimeField(auto_now_add=True)
    before = models.JSONField(
        help_text="level, excused, reason, reason_text, note, suggestion before; "
        "after publishing also what was shown."
    )
    after = models.JSONField(help_text="The same after.")
    why = models.CharField(max_length=240, blank=True)
    after_publishing = models.BooleanField(default=False)
    undone_at = models.DateTimeField(null=True, blank=True)

    objects = MarkChangeQuerySet.as_manager()

    class Meta:
        ordering = ("pk",)
        constraints = [
            models.CheckConstraint(
                condition=Q(after_publishing=False) | ~Q(why=""), name="late_change_says_why"
            ),
        ]
        indexes = [models.Index(fields=("who", "-id"), name="changes_of_one_person")]

    def __str__(self):
        return f"{self.mark_id}: {self.before.get('level')} to {self.after.get('level')}"

    @property
    def is_private(self) -> bool:
        """Whether an agreed accommodation is its cause: its reason and its why stay with the
        teacher, and are in no file."""
        return Mark.Reason.ACCESS in (self.before.get("reason"), self.after.get("reason"))


class NextStep(models.Model):
    """One thing to try in the next project, and what the student answered."""

    assessment = models.ForeignKey(Assessment, on_delete=models.CASCADE, related_name="next_steps")
    text = models.CharField(max_length=300)
    taken_up_at = models.DateTimeField(null=True, blank=True)
    reply = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ("pk",)

    def __str__(self):
        return self.text
