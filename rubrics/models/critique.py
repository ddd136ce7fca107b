"""Critiques: who looks at whose piece, what was remarked, what the maker answered; anchor cups."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from studio.models import Photo, Piece, Project, Section, Student

from .rubrics import Criterion

READERS = (2, 3, 4)
GROUPS = (3, 4)
MOST_LETTERS = 1200
"""Of one remark: far over the limit of words, so that what is too long is kept until it is cut."""
WHY_LENGTH = 300
LONGEST_TURN_S = 3600


class KeptApart(models.Model):
    """Two students of a section who never read each other's work. For the teacher's eyes alone."""

    section = models.ForeignKey(Section, on_delete=models.CASCADE, related_name="kept_apart")
    one = models.ForeignKey(Student, on_delete=models.CASCADE, related_name="+")
    other = models.ForeignKey(Student, on_delete=models.CASCADE, related_name="+")

    class Meta:
        ordering = ("pk",)
        verbose_name = "pair kept apart"
        verbose_name_plural = "pairs kept apart"
        constraints = [
            models.UniqueConstraint(
                fields=("section", "one", "other"), name="pair_kept_apart_once"
            ),
            # The lower id stands first, so that a pair has one row whichever way it was named.
            models.CheckConstraint(condition=Q(one__lt=F("other")), name="two_are_kept_apart"),
        ]

    def __str__(self):
        return f"{self.one} and {self.other}"


class Critique(models.Model):
    """One round in which a class looks at its own pieces."""

    class Kind(models.TextChoices):
        MIDDLE = "middle", "in the middle, while the clay can still change"
        FINISHED = "finished", "of finished work"

    project = models.ForeignKey(Project, on_delete=models.CASCADE, related_name="critiques")
    kind = models.CharField(max_length=8, choices=Kind, default=Kind.MIDDLE)
    readers = models.PositiveSmallIntegerField(
        "readers a piece", default=3, choices=[(n, str(n)) for n in READERS]
    )
    group_size = models.PositiveSmallIntegerField(
        "groups of",
        null=True,
        blank=True,
        choices=[(n, str(n)) for n in GROUPS],
        help_text="Each looks at the pieces of its own group. Empty: readers are dealt one by one.",
    )
    names_hidden = models.BooleanField("names hidden both ways", default=True)
    seed = models.BigIntegerField(help_text="With it the same list is dealt the same way again.")
    maker_first_s = models.PositiveSmallIntegerField(
        "the maker is silent, all look [s]", default=60
    )
    group_s = models.PositiveSmallIntegerField("the group speaks [s]", default=180)
    maker_last_s = models.PositiveSmallIntegerField("the maker answers [s]", default=60)
    shows_unflagged = models.BooleanField(
        "remarks without a flag pass by themselves",
        default=False,
        help_text="For the critique day: they stand on the large screen, and with the maker, "
        "as they are sent. Flagged ones always wait for you.",
    )
    opened_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    opened_at = models.DateTimeField(auto_now_add=True)
    closed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ("-pk",)
        constraints = [
            models.CheckConstraint(
                condition=Q(readers__in=READERS), name="two_to_four_readers_a_piece"
            ),
            models.CheckConstraint(
                condition=Q(group_size=None) | Q(group_size__in=GROUPS),
                name="three_or_four_round_a_table",
            ),
            models.CheckConstraint(
                condition=Q(
                    maker_first_s__lte=LONGEST_TURN_S,
                    group_s__lte=LONGEST_TURN_S,
                    maker_last_s__lte=LONGEST_TURN_S,
                ),
                name="a_turn_ends_within_the_hour",
            ),
        ]

    def __str__(self):
        return f"Critique {self.get_kind_display()}"


class Shown(models.Model):
    """A piece in a critique, at its place in the running order."""

    critique = models.ForeignKey(Critique, on_delete=models.CASCADE, related_name="shown")
    piece = models.ForeignKey(Piece, on_delete=models.CASCADE, related_name="shown_in")
    position = models.PositiveSmallIntegerField()
    maker_absent = models.BooleanField("the maker is absent", default=False)
    group = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="Its group, from 1; empty where readers are dealt."
    )

    class Meta:
        ordering = ("position", "pk")
        verbose_name = "place in a critique"
        verbose_name_plural = "places in critiques"
        constraints = [
            models.UniqueConstraint(fields=("critique", "piece"), name="piece_shown_once"),
        ]

    def __str__(self):
        return str(self.piece)


class LookQuerySet(models.QuerySet):
    """Named questions about looks."""

    def standing(self):
        """Those that were not passed on to somebody else."""
        return self.filter(passed_on_at=None)


class Look(models.Model):
    """One student's reading of one piece. ``passed_on_at`` is set where another took it over."""

    shown = models.ForeignKey(Shown, on_delete=models.CASCADE, related_name="looks")
    reader = models.ForeignKey(Student, on_delete=models.CASCADE, related_name="looks")
    sent_at = models.DateTimeField(null=True, blank=True)
    typed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.SET_NULL,
        null=True,
        blank=True,
        related_name="+",
        help_text="Who typed in what the reader had written on paper.",
    )
    passed_on_at = models.DateTimeField(null=True, blank=True)

    objects = LookQuerySet.as_manager()

    class Meta:
        ordering = ("pk",)
        verbose_name = "piece to read in a critique"
        verbose_name_plural = "pieces to read in critiques"
        constraints = [
            models.UniqueConstraint(fields=("shown", "reader"), name="one_look_a_reader"),
        ]

    def __str__(self):
        return f"{self.reader} reads {self.shown}"


class RemarkQuerySet(models.QuerySet):
    """Named questions about remarks."""

    def waiting(self):
        """At the teacher's gate."""
        return self.filter(state=Remark.State.WAITING)

    def passed(self):
        """Let through: what the maker reads."""
        return self.filter(state=Remark.State.PASSED)


class Remark(models.Model):
    """What one reader wrote in one box. ``version`` counts its writes.

    ``x`` and ``y`` are shares of the photo's width and height from its upper left corner.
    """

    class Box(models.TextChoices):
        SEE = "see", "What I see"
        WORKS = "works", "How it works"
        ABOUT = "about", "What it is about or for"
        STRONG = "strong", "What works"
        TRY = "try", "One thing to try"

    class Place(models.TextChoices):
        RIM = "rim", "the rim"
        WALL = "wall", "the wall"
        HANDLE = "handle", "the handle"
        SEAM = "seam", "the seam"
        FOOT = "foot", "the foot"
        INSIDE = "inside", "the inside"
        WHOLE = "whole", "the form as a whole"

    class State(models.TextChoices):
        DRAFT = "draft", "being written"
        WAITING = "waiting", "with the teacher"
        PASSED = "passed", "with the maker"
        BACK = "back", "back with its writer"

    class Answer(models.TextChoices):
        KEPT = "kept", "I keep it as it is"
        CHANGED = "changed", "I changed it"
        NOT = "not", "I do not take it up"

    class TakenAs(models.TextChoices):
        WORDS = "words", "in the words"
        STEP = "step", "as the next step"

    look = models.ForeignKey(Look, on_delete=models.CASCADE, related_name="remarks")
    box = models.CharField(max_length=8, choices=Box)
    text = models.CharField(max_length=MOST_LETTERS, blank=True)
    place = models.CharField(max_length=8, choices=Place, blank=True)
    photo = models.ForeignKey(
        Photo, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    x = models.FloatField(null=True, blank=True)
    y = models.FloatField(null=True, blank=True)
    version = models.PositiveIntegerField(default=0)
    state = models.CharField(max_length=8, choices=State, default=State.DRAFT)
    back_words = models.CharField("to the writer", max_length=WHY_LENGTH, blank=True)
    ruled_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    ruled_at = models.DateTimeField(null=True, blank=True)
    answer = models.CharField(max_length=8, choices=Answer, blank=True)
    why = models.CharField(max_length=WHY_LENGTH, blank=True)
    before = models.ForeignKey(
        Photo, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    after = models.ForeignKey(
        Photo, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    helped = models.BooleanField("this one helped", default=False)
    answered_at = models.DateTimeField(null=True, blank=True)
    taken_as = models.CharField(max_length=8, choices=TakenAs, blank=True)

    objects = RemarkQuerySet.as_manager()

    class Meta:
        ordering = ("pk",)
        verbose_name = "remark in a critique"
        verbose_name_plural = "remarks in critiques"
        constraints = [
            models.UniqueConstraint(fields=("look", "box"), name="one_remark_a_box"),
            models.CheckConstraint(
                condition=Q(x__isnull=True, y__isnull=True)
                | Q(x__isnull=False, y__isnull=False, x__gte=0, x__lte=1, y__gte=0, y__lte=1),
                name="pin_on_the_photo",
            ),
            models.CheckConstraint(
                condition=Q(state="passed") | Q(answer="", helped=False),
                name="only_what_passed_is_answered",
            ),
        ]
        indexes = [models.Index(fields=("state",), name="remarks_by_state")]

    def __str__(self):
        return f"{self.get_box_display()}: {self.text}"

    @property
    def pin(self) -> tuple[float, float] | None:
        """Where it points on its photo, as shares of width and height."""
        return None if self.photo_id is None or self.x is None else (self.x, self.y)


class EyeSetting(models.Model):
    """Three anchor cups that teacher and class level before a batch, each for themselves.

    Until ``compared_at`` is set nobody sees another's answer; from then on nobody answers.
    """

    project = models.ForeignKey(Project, on_delete=models.CASCADE, related_name="eye_settings")
    opened_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    opened_at = models.DateTimeField(auto_now_add=True)
    compared_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ("-pk",)

    def __str__(self):
        return f"Setting the eye for {self.project}"


class AnchorCup(models.Model):
    """One of the three, told by its number: whose it is stays with the teacher."""

    setting = models.ForeignKey(EyeSetting, on_delete=models.CASCADE, related_name="cups")
    piece = models.ForeignKey(Piece, on_delete=models.CASCADE, related_name="+")
    number = models.PositiveSmallIntegerField()

    class Meta:
        ordering = ("number",)
        constraints = [
            models.UniqueConstraint(fields=("setting", "number"), name="anchor_number_once"),
            models.UniqueConstraint(fields=("setting", "piece"), name="anchor_cup_once"),
        ]

    def __str__(self):
        return f"Cup {self.number}"


class EyeLevel(models.Model):
    """The level that one person gave one anchor cup on one criterion.

    ``by`` gave it on the site; a ``student`` gave it on paper and a teacher typed it in.
    """

    cup = models.ForeignKey(AnchorCup, on_delete=models.CASCADE, related_name="levels")
    criterion = models.ForeignKey(Criterion, on_delete=models.CASCADE, related_name="+")
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, null=True, blank=True, related_name="+"
    )
    student = models.ForeignKey(
        Student, on_delete=models.CASCADE, null=True, blank=True, related_name="+"
    )
    level = models.PositiveSmallIntegerField()

    class Meta:
        ordering = ("pk",)
        verbose_name = "level of an anchor cup"
        verbose_name_plural = "levels of anchor cups"
        constraints = [
            models.UniqueConstraint(fields=("cup", "criterion", "by"), name="one_eye_level_each"),
            models.UniqueConstraint(
                fields=("cup", "criterion", "student"), name="one_eye_level_each_on_paper"
            ),
            models.CheckConstraint(
                condition=Q(by__isnull=True, student__isnull=False)
                | Q(by__isnull=False, student__isnull=True),
                name="eye_level_is_one_persons",
            ),
            models.CheckConstraint(
                condition=Q(level__gte=1, level__lte=4), name="eye_level_is_1_to_4"
            ),
        ]

    def __str__(self):
        return f"{self.cup}: {self.level}"
