"""Kilns, firings and what came out."""

from django.conf import settings
from django.db import models
from django.db.models import Count, F, Q

from studio.ware.outcomes import DEFECTS, SOUND, advice_on

from .pieces import Piece
from .plans import Stage

# A tall school kiln has six or seven half shelves; beyond this it is a slip of the pen.
MOST_SHELVES = 20
# Cone 10 ends below 1310 °C; no school kiln goes beyond this [°C].
HOTTEST_C = 1400
# Faster than any kiln climbs or should fall [°C/h]; empty means as fast as it can.
FASTEST_C_PER_H = 1000
LONGEST_HOLD_MIN = 72 * 60


class Kiln(models.Model):
    """A kiln of the house."""

    owner = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, null=True, blank=True
    )
    name = models.CharField(max_length=60)
    shelves = models.PositiveSmallIntegerField(default=3)

    class Meta:
        ordering = ("name",)
        constraints = [
            models.UniqueConstraint(fields=("owner", "name"), name="kiln_name_once"),
            models.CheckConstraint(
                condition=Q(shelves__gte=1, shelves__lte=MOST_SHELVES), name="kiln_has_shelves"
            ),
        ]

    def __str__(self):
        return self.name


class FiringQuerySet(models.QuerySet):
    """Named questions about firings."""

    def for_list(self):
        """With kiln and counts, in one query."""
        return (
            self.select_related("kiln")
            .annotate(load_count=Count("loads"))
            .order_by("-fired_on", "-pk")
        )


class Firing(models.Model):
    """One firing of one kiln."""

    class Kind(models.TextChoices):
        BISQUE = Stage.BISQUE, "bisque"
        GLAZE = Stage.GLAZED, "glaze"

    kiln = models.ForeignKey(Kiln, on_delete=models.PROTECT, related_name="firings")
    kind = models.CharField(max_length=12, choices=Kind)
    planned_cone = models.CharField(max_length=4, blank=True)
    fired_on = models.DateField()
    unloaded_on = models.DateField(null=True, blank=True)
    opened_c = models.FloatField(
        "temperature when opened [°C]",
        null=True,
        blank=True,
        help_text="As the pyrometer showed it when the lid or door was first opened.",
    )
    note = models.TextField(blank=True, max_length=2000)
    begun_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )

    objects = FiringQuerySet.as_manager()

    class Meta:
        ordering = ("-fired_on", "-pk")
        constraints = [
            models.CheckConstraint(
                condition=Q(opened_c__isnull=True) | Q(opened_c__gte=0, opened_c__lte=HOTTEST_C),
                name="opened_at_a_temperature",
            ),
        ]

    def __str__(self):
        return f"{self.get_kind_display()} firing of {self.fired_on}"


class RampSegment(models.Model):
    """One segment of what the controller was told: climb or fall to a target, then hold."""

    firing = models.ForeignKey(Firing, on_delete=models.CASCADE, related_name="segments")
    position = models.PositiveSmallIntegerField()
    rate_c_per_h = models.FloatField(null=True, blank=True, help_text="Empty: as fast as it can.")
    target_c = models.FloatField()
    hold_min = models.FloatField(default=0)

    class Meta:
        ordering = ("firing", "position")
        constraints = [
            models.UniqueConstraint(fields=("firing", "position"), name="one_segment_a_position"),
            models.CheckConstraint(
                condition=Q(target_c__gt=0, target_c__lte=HOTTEST_C), name="target_plausible"
            ),
            models.CheckConstraint(
                condition=Q(rate_c_per_h__isnull=True)
                | Q(rate_c_per_h__gt=0, rate_c_per_h__lte=FASTEST_C_PER_H),
                name="rate_plausible",
            ),
            models.CheckConstraint(
                condition=Q(hold_min__gte=0, hold_min__lte=LONGEST_HOLD_MIN),
                name="hold_plausible",
            ),
        ]

    def __str__(self):
        return f"segment {self.position} of {self.firing}"


class FiringLog(models.Model):
    """What the controller wrote: packed by ``studio.firing.packing``, in minutes and °C.

    A log that was just read waits as not kept until the teacher has seen what is wrong with it.
    """

    firing = models.ForeignKey(Firing, on_delete=models.CASCADE, related_name="logs")
    kept = models.BooleanField(default=False)
    came_as = models.CharField("file", max_length=120, blank=True)
    unit = models.CharField(max_length=1, choices=[("C", "°C"), ("F", "°F")])
    points = models.BinaryField()
    line_count = models.PositiveIntegerField()
    problems = models.JSONField(default=list, help_text="[kind, sentence] of each thing seen.")
    added_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    added_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ("pk",)
        constraints = [
            models.UniqueConstraint(fields=("firing", "kept"), name="one_log_kept_one_looked_at"),
        ]

    def __str__(self):
        return f"log of {self.firing}"


class WitnessCone(models.Model):
    """A cone on a shelf, read after the firing."""

    class Bend(models.TextChoices):
        STANDING = "standing", "not bent"
        ONE = "1", "tip at 1 o'clock"
        THREE = "3", "tip at 3 o'clock"
        FIVE = "5", "tip at 5 o'clock"
        SIX = "6", "tip at 6 o'clock"
        FLAT = "flat", "flat"

    firing = models.ForeignKey(Firing, on_delete=models.CASCADE, related_name="witness_cones")
    shelf = models.PositiveSmallIntegerField(help_text="Counted from the bottom, 1 is the lowest.")
    cone = models.CharField(max_length=4)
    bend = models.CharField(max_length=8, choices=Bend)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=("firing", "shelf", "cone"), name="cone_once_a_shelf"),
        ]

    def __str__(self):
        return f"cone {self.cone} on shelf {self.shelf}: {self.get_bend_display()}"


class Load(models.Model):
    """A piece in a firing."""

    firing = models.ForeignKey(Firing, on_delete=models.CASCADE, related_name="loads")
    piece = models.ForeignKey(Piece, on_delete=models.CASCADE, related_name="loads")
    shelf = models.PositiveSmallIntegerField(null=True, blank=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=("firing", "piece"), name="loaded_once")]

    def __str__(self):
        return f"{self.piece} in {self.firing}"


class Outcome(models.Model):
    """What happened to a piece, and whose doing the teacher holds it to be."""

    class Doing(models.TextChoices):
        CRAFT = "craft", "the making"
        KILN = "kiln", "the kiln"
        UNCLEAR = "unclear", "unclear"

    class Severity(models.IntegerChoices):
        MARK = 1, "a mark"
        FLAW = 2, "a flaw"
        LOSS = 3, "a loss"

    piece = models.ForeignKey(Piece, on_delete=models.CASCADE, related_name="outcomes")
    load = models.ForeignKey(Load, on_delete=models.SET_NULL, null=True, blank=True)
    stage = models.CharField(max_length=12, choices=Stage)
    kind = models.CharField(max_length=40, help_text="The defect in the trade's word, or sound.")
    severity = models.PositiveSmallIntegerField(choices=Severity, default=Severity.MARK)
    doing = models.CharField("whose doing", max_length=8, choices=Doing, default=Doing.UNCLEAR)
    note = models.CharField(max_length=240, blank=True)
    photo = models.ForeignKey("Photo", on_delete=models.SET_NULL, null=True, blank=True)
    hurt_by = models.ForeignKey(
        "self",
        on_delete=models.SET_NULL,
        null=True,
        blank=True,
        related_name="hurt",
        help_text="The neighbour's outcome that did this, as a blow-out does.",
    )
    noted_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    noted_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ("pk",)
        constraints = [
            models.UniqueConstraint(fields=("piece", "stage", "kind"), name="outcome_once_a_stage"),
            models.CheckConstraint(
                condition=Q(hurt_by__isnull=True) | ~Q(hurt_by=F("id")), name="hurt_by_another"
            ),
        ]

    def __str__(self):
        return f"{self.kind} ({self.get_doing_display()})"

    @property
    def cause(self) -> str:
        """What usually causes it; "" where the trade's list does not know the word."""
        return DEFECTS[self.kind].cause if self.kind in DEFECTS and self.kind != SOUND else ""

    @property
    def advice(self) -> str:
        """What to do about it at the next piece; "" where there is nothing to learn."""
        return advice_on(self.kind)
