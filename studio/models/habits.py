"""Studio habits, ticked by student and day."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from .people import Section, Student


class HabitTick(models.Model):
    """A habit that a student kept on a day in a section. No row means not ticked."""

    class Habit(models.TextChoices):
        WRAPPED = "wrapped", "wrapped and labelled"
        RECLAIMED = "reclaimed", "scrap reclaimed"
        SPARE = "spare", "spare handle made"
        TOOLS = "tools", "tools cleaned"

    section = models.ForeignKey(Section, on_delete=models.CASCADE, related_name="habit_ticks")
    student = models.ForeignKey(Student, on_delete=models.CASCADE, related_name="habit_ticks")
    day = models.DateField()
    habit = models.CharField(max_length=12, choices=Habit)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )

    class Meta:
        ordering = ("day", "pk")
        constraints = [
            models.UniqueConstraint(
                fields=("section", "student", "day", "habit"), name="habit_ticked_once_a_day"
            ),
            models.CheckConstraint(
                condition=Q(habit__in=("wrapped", "reclaimed", "spare", "tools")),
                name="habit_is_known",
            ),
        ]

    def __str__(self):
        return f"{self.student}, {self.day}: {self.get_habit_display()}"
