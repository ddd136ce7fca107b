"""Fields that several forms share."""

from django import forms

from studio.ware.units import UnitError, format_measure, parse_length
from studio.web.row_ids import row_id

# A float that went through inches and back is off by far less than this [mm].
SAME_MM = 1e-6


class RowsField(forms.ModelMultipleChoiceField):
    """Several rows by their ids; what cannot be an id is one choice that is not there."""

    def clean(self, value):
        for each in value or ():
            if row_id(str(each)) is None:
                raise forms.ValidationError(
                    self.error_messages["invalid_choice"], "invalid_choice", {"value": each}
                )
        return super().clean(value)


class ManyFilesInput(forms.ClearableFileInput):
    """Several files in one input."""

    allow_multiple_selected = True


class ManyFilesField(forms.FileField):
    """Every file of the input, as a list of at most ``most``."""

    widget = ManyFilesInput

    def __init__(self, *, most: int | None = None, **kwargs):
        super().__init__(**kwargs)
        self.most = most

    def clean(self, data, initial=None):
        given = data if isinstance(data, list | tuple) else [data] if data else []
        if not given:
            raise forms.ValidationError(self.error_messages["required"], "required")
        if self.most is not None and len(given) > self.most:
            raise forms.ValidationError(
                f"These are {len(given)} files; up to {self.most} are taken at once."
            )
        return [super(ManyFilesField, self).clean(each, initial) for each in given]


class LengthField(forms.CharField):
    """A length as hands write it (6.4, 1/4 in, 0.64 cm); leaves in millimetres [mm].

    ``unit`` is what a bare number means; a form sets it to the section's. A value already on
    record is shown with its unit, so that it reads the same in every section.
    """

    def __init__(self, *, lowest_mm: float, highest_mm: float, **kwargs):
        kwargs.setdefault("max_length", 40)
        super().__init__(**kwargs)
        self.lowest_mm, self.highest_mm, self.unit = lowest_mm, highest_mm, "mm"
        self.widget.attrs.setdefault("class", "short")
        self.widget.attrs.setdefault("inputmode", "text")

    def clean(self, value):
        text = super().clean(value)
        if text in self.empty_values:
            return None
        try:
            length = float(parse_length(text, self.unit))
        except UnitError as error:
            raise forms.ValidationError(str(error)) from None
        if not self.lowest_mm <= length <= self.highest_mm:
            raise forms.ValidationError(
                f"{format_measure(length, 'mm')} cannot be meant here: it should be between "
                f"{self.lowest_mm:g} and {self.highest_mm:g} mm. Check the unit and the point."
            )
        return length

    def prepare_value(self, value):
        return self._text(value) if isinstance(value, int | float) else value

    def _text(self, value_mm: float) -> str:
        """In the form's unit where that gives the very same length back, else in millimetres."""
        text = format_measure(value_mm, self.unit)
        if abs(float(parse_length(text)) - value_mm) <= SAME_MM:
            return text
        return f"{value_mm:.9g} mm"

    def has_changed(self, initial, data):
        return super().has_changed(self.prepare_value(initial), data)


class UnitMixin:
    """A form whose lengths take a section's unit for bare numbers."""

    def take_unit(self, unit: str) -> None:
        for field in self.fields.values():
            if isinstance(field, LengthField):
                field.unit = unit


class FigureInput(forms.NumberInput):
    """A number without the zeros that a float drags along: 280, not 280.0."""

    def format_value(self, value):
        return f"{value:.9g}" if isinstance(value, float) else super().format_value(value)


class DateInput(forms.DateInput):
    """The browser's own calendar."""

    input_type = "date"

    def __init__(self, **kwargs):
        super().__init__(format="%Y-%m-%d", **kwargs)
        self.attrs.setdefault("class", "short")
