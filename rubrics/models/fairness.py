"""Second looks at a batch, orders shown on shelves, and studies of how good the measuring is."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from studio.models import Instrument, Piece, Project
from studio.ware.quantities import QUANTITIES

from .assessments import Assessment
from .rubrics import Criterion, Level, Rubric


class SecondLookQuerySet(models.QuerySet):
    """Named questions about second looks."""

    def still_open(self):
        return self.filter(closed_at__isnull=True)

    def with_levels(self):
        """With all that comparing the two looks asks for, however many looks and pieces."""
        return self.select_related("reader", "rubric").prefetch_related(
            "rubric__criteria__levels",
            "places__piece",
            "places__settled",
            "places__assessment__marks",
        )


class SecondLook(models.Model):
    """A sample of a project's pieces, judged again by one reader without seeing the first levels.

    A reader looks once at a project: two second looks of one person would not be independent.
    """

    project = models.ForeignKey(Project, on_delete=models.CASCADE, related_name="second_looks")
    rubric = models.ForeignKey(Rubric, on_delete=models.PROTECT, related_name="+")
    reader = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="second_looks"
    )
    opened_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    opened_at = models.DateTimeField(auto_now_add=True)
    closed_at = models.DateTimeField(null=True, blank=True)
    batch = models.PositiveIntegerField(help_text="Judged pieces from which the sample was drawn.")
    within = models.FloatField(help_text="The precision asked for, half an interval, as a share.")
    seed = models.BigIntegerField(help_text="With it and the batch the sample is drawn again.")

    objects = SecondLookQuerySet.as_manager()

    class Meta:
        ordering = ("-pk",)
        constraints = [
            models.UniqueConstraint(fields=("project", "reader"), name="one_second_look_a_reader"),
            models.CheckConstraint(
                condition=Q(within__gt=0, within__lt=1), name="precision_is_a_share"
            ),
        ]

    def __str__(self):
        return f"second look at {self.project}"


class SecondLookPiece(models.Model):
    """A piece of the sample. ``first`` keeps the levels it had when it was drawn, by criterion id,
    so that settling a difference changes nothing in the comparison."""

    look = models.ForeignKey(SecondLook, on_delete=models.CASCADE, related_name="places")
    piece = models.ForeignKey(Piece, on_delete=models.CASCADE, related_name="+")
    number = models.PositiveSmallIntegerField(help_text="In the order drawn, from 1.")
    first = models.JSONField(help_text="Level numbers by criterion id, as text.")
    assessment = models.OneToOneField(
        Assessment, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )

    class Meta:
        ordering = ("number",)
        constraints = [
            models.UniqueConstraint(fields=("look", "piece"), name="a_piece_once_a_look"),
            models.UniqueConstraint(fields=("look", "number"), name="a_number_once_a_look"),
        ]

    def __str__(self):
        return f"{self.number} {self.piece}"


class Settled(models.Model):
    """What became of a difference; the first and the second level stay beside it."""

    place = models.ForeignKey(SecondLookPiece, on_delete=models.CASCADE, related_name="settled")
    criterion = models.ForeignKey(Criterion, on_delete=models.PROTECT, related_name="+")
    level = models.PositiveSmallIntegerField()
    why = models.CharField(max_length=240)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ("pk",)
        constraints = [
            models.UniqueConstraint(fields=("place", "criterion"), name="settled_once"),
            models.CheckConstraint(condition=~Q(why=""), name="settled_with_a_why"),
            models.CheckConstraint(
                condition=Q(level__gte=1, level__lte=4), name="settled_level_is_1_to_4"
            ),
        ]

    def __str__(self):
        return f"{self.criterion} of {self.place}: {self.level}"


class ShelfOrder(models.Model):
    """The order in which one criterion's pieces stood before one reader, and from when to when."""

    project = models.ForeignKey(Project, on_delete=models.CASCADE, related_name="shelf_orders")
    criterion = models.ForeignKey(Criterion, on_delete=models.CASCADE, related_name="+")
    reader = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="+")
    pieces = models.JSONField(help_text="Ids of the pieces, in order.")
    shown_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ("pk",)
        verbose_name = "order shown on a shelf"
        verbose_name_plural = "orders shown on shelves"
        indexes = [
            models.Index(fields=("project", "criterion", "reader"), name="orders_shown"),
        ]

    def __str__(self):
        return f"{self.criterion}, {len(self.pieces)} pieces"


class Exemplar(models.Model):
    """A piece that shows its reader what a level of a criterion looks like; one a level."""

    level = models.ForeignKey(Level, on_delete=models.CASCADE, related_name="exemplars")
    piece = models.ForeignKey(Piece, on_delete=models.CASCADE, related_name="+")
    pinned_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="exemplars"
    )
    pinned_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=("level", "pinned_by"), name="one_exemplar_a_level"),
        ]

    def __str__(self):
        return f"{self.piece} for {self.level}"


class MeasuringStudy(models.Model):
    """Several people measure the same cups, several times each. The readings are kept as typed."""

    owner = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="measuring_studies"
    )
    title = models.CharField(max_length=80)
    quantity = models.CharField(
        max_length=32, choices=[(key, each.label) for key, each in QUANTITIES.items()]
    )
    instrument = models.ForeignKey(
        Instrument, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    typed = models.TextField(blank=True)
    made_at = models.DateTimeField(auto_now_add=True)
    taken_over_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ("-pk",)

    def __str__(self):
        return self.title
