"""Which glaze went on a piece, where, how, and how thick."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from .pieces import Piece

MOST_COATS = 12
THINNEST_MM, THICKEST_MM = 0.05, 6.0
"""A dry coat outside this is a slip of the pen; 0.5 to 1.5 mm is usual (common practice). [mm]"""


class GlazeCoat(models.Model):
    """One glaze on one part of a piece."""

    class Part(models.TextChoices):
        ALL = "all over", "all over"
        OUTSIDE = "outside", "outside"
        INSIDE = "inside", "inside"
        RIM = "rim", "the rim"
        ACCENT = "accent", "an accent"

    class Way(models.TextChoices):
        BRUSHED = "brushed", "brushed"
        DIPPED = "dipped", "dipped"
        POURED = "poured", "poured"
        SPRAYED = "sprayed", "sprayed"

    piece = models.ForeignKey(Piece, on_delete=models.CASCADE, related_name="glazes")
    glaze = models.CharField("which glaze", max_length=60)
    part = models.CharField("where", max_length=10, choices=Part, default=Part.ALL)
    way = models.CharField("how", max_length=8, choices=Way, blank=True)
    coats = models.PositiveSmallIntegerField(null=True, blank=True)
    thickness_mm = models.FloatField("thickness, dry [mm]", null=True, blank=True)
    note = models.CharField(max_length=240, blank=True)
    noted_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    noted_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ("pk",)
        constraints = [
            models.UniqueConstraint(fields=("piece", "glaze", "part"), name="glaze_once_a_part"),
            models.CheckConstraint(
                condition=Q(coats__isnull=True) | Q(coats__gte=1, coats__lte=MOST_COATS),
                name="coats_plausible",
            ),
            models.CheckConstraint(
                condition=Q(thickness_mm__isnull=True)
                | Q(thickness_mm__gte=THINNEST_MM, thickness_mm__lte=THICKEST_MM),
                name="glaze_thickness_plausible",
            ),
        ]

    def __str__(self):
        return f"{self.glaze}, {self.get_part_display()}, on {self.piece}"
