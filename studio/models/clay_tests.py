"""What a clay's own test bars and weighings said, as they were read."""

from django.db import models
from django.db.models import F, Q

from .plans import Clay, Stage

SHORTEST_MARKED_MM, LONGEST_MARKED_MM = 20, 400
"""A shorter line tells no shrinkage to half a per cent; a longer bar fits no school kiln. [mm]"""


class ClayBar(models.Model):
    """A test bar with a line marked on it while wet; what it read stands in ``BarReading``."""

    clay = models.ForeignKey(Clay, on_delete=models.CASCADE, related_name="bars")
    label = models.CharField(max_length=20)
    made_on = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ("pk",)
        constraints = [
            models.UniqueConstraint(fields=("clay", "label"), name="bar_label_once_a_clay"),
        ]

    def __str__(self):
        return f"Bar {self.label} of {self.clay}"


class BarReading(models.Model):
    """Length of a bar's marked line at one stage."""

    bar = models.ForeignKey(ClayBar, on_delete=models.CASCADE, related_name="readings")
    stage = models.CharField(max_length=12, choices=Stage)
    length_mm = models.FloatField("length of the marked line [mm]")

    class Meta:
        ordering = ("pk",)
        constraints = [
            models.UniqueConstraint(fields=("bar", "stage"), name="one_bar_reading_a_stage"),
            models.CheckConstraint(
                condition=Q(length_mm__gte=SHORTEST_MARKED_MM, length_mm__lte=LONGEST_MARKED_MM),
                name="bar_reading_plausible",
            ),
        ]

    def __str__(self):
        return f"{self.bar}: {self.length_mm} mm {self.stage}"


class AbsorptionTest(models.Model):
    """One fired piece of a clay weighed dry, soaked, and soaked while hung in water (ASTM C373)."""

    clay = models.ForeignKey(Clay, on_delete=models.CASCADE, related_name="absorption_tests")
    label = models.CharField(max_length=20)
    dry_g = models.FloatField("dry [g]")
    soaked_g = models.FloatField("soaked [g]")
    suspended_g = models.FloatField("suspended in water [g]")

    class Meta:
        ordering = ("pk",)
        constraints = [
            models.UniqueConstraint(fields=("clay", "label"), name="absorption_label_once_a_clay"),
            models.CheckConstraint(
                condition=Q(suspended_g__gt=0, suspended_g__lt=F("dry_g")),
                name="suspended_weighs_less_than_dry",
            ),
            models.CheckConstraint(
                condition=Q(soaked_g__gte=F("dry_g"), soaked_g__lte=20000),
                name="soaked_weighs_no_less_than_dry",
            ),
        ]

    def __str__(self):
        return f"Absorption {self.label} of {self.clay}"
