"""Kilns: what there is, what is in them, and what each does over time."""

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.shortcuts import get_object_or_404, redirect
from django.template.response import TemplateResponse

from studio import access
from studio.forms.kilns.kilns import KilnForm
from studio.kilns import history
from studio.models import Kiln

FIRINGS_SHOWN = 5


def kilns(request):
    """All kilns a grown-up may see, with their last firings; a form for one more."""
    if not access.is_grown_up(request.user):
        raise PermissionDenied("Kilns are the teachers' to see to.")
    form = KilnForm(request.POST or None, owner=request.user, instance=Kiln())
    if request.method == "POST" and form.is_valid():
        kiln = form.save()
        messages.success(request, f"{kiln.name} is on record.")
        return redirect("kilns")
    found = list(access.kilns(request.user))
    firings = access.firings(request.user).filter(kiln__in=found).for_list()
    by_kiln: dict[int, list] = {kiln.pk: [] for kiln in found}
    for firing in firings:
        by_kiln[firing.kiln_id].append(firing)
    may_fire = set(access.kilns_to_fire(request.user).values_list("pk", flat=True))
    return TemplateResponse(
        request,
        "studio/kilns/kilns.html",
        {
            "form": form,
            "rows": [
                (kiln, by_kiln[kiln.pk][:FIRINGS_SHOWN], kiln.pk in may_fire) for kiln in found
            ],
        },
    )


def kiln(request, kiln_id):
    """What one kiln does over time; its owner changes its name and shelves."""
    shown = get_object_or_404(access.kilns(request.user), pk=kiln_id)
    own = access.own_kilns(request.user).filter(pk=kiln_id).exists()
    if request.method == "POST":
        shown = access.get_to_change(
            access.kilns(request.user), access.own_kilns(request.user), pk=kiln_id
        )
    form = KilnForm(request.POST or None, owner=shown.owner, instance=shown)
    if request.method == "POST" and form.is_valid():
        form.save()
        messages.success(request, "The kiln is changed.")
        return redirect("kiln", kiln_id)
    firings = access.firings(request.user)
    return TemplateResponse(
        request,
        "studio/kilns/kiln.html",
        {
            "kiln": Kiln.objects.get(pk=kiln_id),
            "form": form if own else None,
            "may_fire": access.kilns_to_fire(request.user).filter(pk=kiln_id).exists(),
            "firings": firings.filter(kiln_id=kiln_id).for_list(),
            "history": history.history(shown, firings, access.pieces(request.user)),
            "verdicts": history.VERDICTS,
        },
    )
