"""Kilns, firings and what came out."""

from django.conf import settings
from django.db import models

from .pieces import Piece
from .plans import Stage


class Kiln(models.Model):
    """A kiln of the house."""

    owner = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, null=True, blank=True
    )
    name = models.CharField(max_length=60)
    shelves = models.PositiveSmallIntegerField(default=3)

    class Meta:
        ordering = ("name",)
        constraints = [models.UniqueConstraint(fields=("owner", "name"), name="kiln_name_once")]

    def __str__(self):
        return self.name


class Firing(models.Model):
    """One firing of one kiln."""

    class Kind(models.TextChoices):
        BISQUE = Stage.BISQUE, "bisque"
        GLAZE = Stage.GLAZED, "glaze"

    kiln = models.ForeignKey(Kiln, on_delete=models.PROTECT, related_name="firings")
    kind = models.CharField(max_length=12, choices=Kind)
    planned_cone = models.CharField(max_length=4, blank=True)
    fired_on = models.DateField()
    note = models.TextField(blank=True)

    class Meta:
        ordering = ("-fired_on", "-pk")

    def __str__(self):
        return f"{self.get_kind_display()} firing of {self.fired_on}"


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
    noted_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    noted_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ("pk",)
        constraints = [
            models.UniqueConstraint(fields=("piece", "stage", "kind"), name="outcome_once_a_stage"),
        ]

    def __str__(self):
        return f"{self.kind} ({self.get_doing_display()})"
