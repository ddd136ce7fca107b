"""What readings are taken with: shipped instruments to choose from, own ones to change."""

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.shortcuts import get_object_or_404, redirect
from django.template.response import TemplateResponse

from studio import access
from studio.forms.measuring.instruments import InstrumentForm
from studio.models import Instrument


def instruments(request, instrument_id=None):
    """List instruments; add one, or change an own one."""
    if not access.is_grown_up(request.user):
        raise PermissionDenied("Instruments are the teacher's to keep.")
    mine = None
    if instrument_id is not None:
        mine = get_object_or_404(access.instruments(request.user), pk=instrument_id)
        if mine.owner_id != request.user.pk:
            raise PermissionDenied("This instrument ships with the site; add your own beside it.")
    form = InstrumentForm(request.POST or None, instance=mine, user=request.user)
    status = 200
    if request.method == "POST":
        if form.is_valid():
            kept = form.save()
            messages.success(request, f"{kept.name} is kept.")
            return redirect("instruments")
        status = 422
    context = {
        "form": form,
        "changing": mine and Instrument.objects.get(pk=mine.pk),
        "instruments": access.instruments(request.user).order_by("unit", "name"),
    }
    return TemplateResponse(request, "studio/measuring/instruments.html", context, status=status)
