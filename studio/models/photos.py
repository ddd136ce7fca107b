"""Photographs. The file leaves the site only through a view that asks who is looking."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from .people import Section
from .pieces import Piece
from .plans import Stage

# What a check bar of 100 mm can come out as; beyond it the sheet was printed on purpose smaller.
MAT_BAR_RANGE_MM = (80, 120)


class MatPrint(models.Model):
    """One printed photo mat and who photographs on it; the bar is None until a ruler told it."""

    owner = models.ForeignKey(
        # The photos keep their scale when the person leaves.
        settings.AUTH_USER_MODEL,
        on_delete=models.SET_NULL,
        null=True,
        related_name="mat_prints",
    )
    bar_mm = models.FloatField(
        "check bar [mm]",
        null=True,
        blank=True,
        help_text="As a ruler reads it on the printed mat; a true print has 100.",
    )
    begun_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ("pk",)
        constraints = [
            models.CheckConstraint(
                # A printer that shrinks to its margins keeps at least nine tenths.
                condition=Q(bar_mm__isnull=True)
                | Q(bar_mm__gte=MAT_BAR_RANGE_MM[0], bar_mm__lte=MAT_BAR_RANGE_MM[1]),
                name="check_bar_plausible",
            ),
        ]

    def __str__(self):
        bar = "not measured" if self.bar_mm is None else f"bar {self.bar_mm:g} mm"
        return f"Mat {self.pk}, {bar}"


class Turning(models.Model):
    """A piece at a stage photographed all round, on a mat that is turned between the photos.

    ``found`` is None until its photos are measured together (:mod:`studio.photos.turned_findings`).
    """

    piece = models.ForeignKey(Piece, on_delete=models.CASCADE, related_name="turnings")
    stage = models.CharField(max_length=12, choices=Stage)
    found = models.JSONField(
        null=True, blank=True, help_text="Form, figures and readings that the photos tell together."
    )
    read_at = models.DateTimeField(null=True, blank=True)
    confirmed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    confirmed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ("pk",)
        constraints = [
            models.UniqueConstraint(fields=("piece", "stage"), name="one_turning_a_stage"),
            models.CheckConstraint(
                condition=Q(confirmed_at__isnull=True) | Q(found__isnull=False),
                name="confirmed_turning_is_measured",
            ),
        ]

    def __str__(self):
        return f"{self.piece} all round, {self.stage}"


class PhotoQuerySet(models.QuerySet):
    """Named questions about photos."""

    def filed(self):
        return self.filter(piece__isnull=False)

    def in_order(self):
        return self.order_by("taken_at", "pk")


MIDDLE_PX, SMALL_PX = 1280, 320
"""Longest side of the copies for a page and for a tile. [px]"""


class Photo(models.Model):
    """One picture, upright, in sRGB, stripped of every tag but the two kept here."""

    class View(models.TextChoices):
        SIDE = "side", "from the side"
        TOP = "top", "from above"
        DETAIL = "detail", "detail"

    section = models.ForeignKey(Section, on_delete=models.CASCADE, related_name="photos")
    piece = models.ForeignKey(
        Piece, on_delete=models.CASCADE, null=True, blank=True, related_name="photos"
    )
    stage = models.CharField(max_length=12, choices=Stage, blank=True)
    view = models.CharField(max_length=6, choices=View, default=View.SIDE)
    file = models.FileField(upload_to="photos/", max_length=120)
    middle = models.FileField(upload_to="photos/", max_length=120)
    small = models.FileField(upload_to="photos/", max_length=120)
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()
    sha256 = models.CharField(max_length=64, help_text="Of the bytes as they came in.")
    came_as = models.CharField("file name as it came", max_length=120, blank=True)
    taken_at = models.DateTimeField(null=True, blank=True)
    focal_35mm = models.FloatField(
        null=True, blank=True, help_text="35 mm-equivalent focal length."
    )
    mat = models.ForeignKey(
        MatPrint, on_delete=models.SET_NULL, null=True, blank=True, related_name="photos"
    )
    turning = models.ForeignKey(
        Turning, on_delete=models.SET_NULL, null=True, blank=True, related_name="photos"
    )
    caption = models.CharField(max_length=160, blank=True)
    chosen = models.BooleanField(
        "the one to show", default=False, help_text="The picture that stands for its piece."
    )
    added_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    added_at = models.DateTimeField(auto_now_add=True)
    found = models.JSONField(
        null=True, blank=True, help_text="Pose, landmarks and measures the camera found."
    )
    confirmed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    confirmed_at = models.DateTimeField(null=True, blank=True)

    objects = PhotoQuerySet.as_manager()

    class Meta:
        ordering = ("pk",)
        constraints = [
            models.UniqueConstraint(fields=("section", "sha256"), name="same_photo_once"),
            models.CheckConstraint(
                condition=Q(width__gt=0, height__gt=0), name="photo_has_an_extent"
            ),
            models.UniqueConstraint(
                fields=("piece",), condition=Q(chosen=True), name="one_chosen_photo_a_piece"
            ),
        ]

    def __str__(self):
        return f"Photo {self.pk} of {self.piece_id or 'no piece yet'}"

    @property
    def middle_width(self) -> int:
        """Width of the copy for a page. [px]"""
        return self._width_within(MIDDLE_PX)

    @property
    def small_width(self) -> int:
        """Width of the copy for a tile. [px]"""
        return self._width_within(SMALL_PX)

    def _width_within(self, longest: int) -> int:
        return round(self.width * min(1.0, longest / max(self.width, self.height)))

    @property
    def stage_order(self) -> int:
        """The place of its stage on the way of a piece; before all where none is known."""
        stages = list(Stage)
        return stages.index(self.stage) if self.stage in stages else -1
