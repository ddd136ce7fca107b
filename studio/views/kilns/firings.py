"""A firing: its plan, its shelves, its cones and its log."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect
from django.template.response import TemplateResponse
from django.utils import timezone
from django.views.decorators.http import require_POST

from studio import access
from studio.firing.lines import MOST_BYTES
from studio.firing.log import LogError, read_log
from studio.firing.ramp import cautions
from studio.firing.starter_ramps import STARTER_RAMPS
from studio.forms.kilns.cones import ConesForm, cones_to_read
from studio.forms.kilns.kilns import (
    CONES,
    START_WORDS,
    FiringForm,
    LogForm,
    RampFormSet,
    ramp_initial,
)
from studio.kilns import firings, log_and_cones
from studio.kilns.firing_pages import overview
from studio.kilns.firings import FiringError
from studio.models import Firing


def firing(request, firing_id):
    """One firing as it stands: verdict, drawing, shelves, and what is next."""
    shown = get_object_or_404(access.firings(request.user).select_related("kiln"), pk=firing_id)
    may_change = access.taught_firings(request.user).filter(pk=firing_id).exists()
    pieces = access.pieces(request.user)
    context = overview(shown, pieces) | {"may_change": may_change}
    return TemplateResponse(request, "studio/kilns/firing.html", context)


def firing_new(request, kiln_id):
    """Plan a firing in a kiln."""
    kiln = access.get_to_change(
        access.kilns(request.user), access.kilns_to_fire(request.user), pk=kiln_id
    )
    planned = Firing(kiln=kiln)
    last = access.firings(request.user).filter(kiln=kiln).first()
    initial = {"fired_on": timezone.localdate(), "unit": "C"}
    segments = []
    if last is not None:
        # The last ramp is nearly always the next one.
        initial |= {"kind": last.kind, "planned_cone": last.planned_cone}
        segments = log_and_cones.segments_of(last)
    chosen = STARTER_RAMPS.get(request.GET.get("ramp", ""))
    if chosen is not None:
        initial |= {"kind": chosen.kind, "planned_cone": chosen.cone}
        segments = chosen.segments
    return _plan(request, planned, initial, segments, chosen)


def firing_edit(request, firing_id):
    """Change the plan of a firing."""
    planned = access.get_taught_firing(request.user, firing_id)
    return _plan(request, planned, {"unit": "C"}, log_and_cones.segments_of(planned))


def _plan(request, planned, initial, segments, chosen=None):
    form = FiringForm(request.POST or None, instance=planned, initial=initial)
    ramp = RampFormSet(request.POST or None, initial=ramp_initial(segments), prefix="ramp")
    ramp.unit = request.POST.get("unit", "C")
    if request.method == "POST" and form.is_valid() and ramp.is_valid():
        kept = firings.keep_firing(form.save(commit=False), ramp.segments(), request.user)
        for sentence in cautions(
            ramp.segments(),
            bisque=kept.kind == Firing.Kind.BISQUE,
            planned=log_and_cones.planned_cone(kept),
        ):
            messages.warning(request, sentence)
        messages.success(request, "The firing is planned.")
        return redirect("firing", kept.pk)
    return TemplateResponse(
        request,
        "studio/kilns/plan.html",
        {
            "form": form,
            "ramp": ramp,
            "kiln": planned.kiln,
            "firing": Firing.objects.filter(pk=planned.pk).first(),
            "cones": CONES,
            "start_words": START_WORDS,
            "starters": STARTER_RAMPS.values(),
            "chosen": chosen,
        },
    )


@require_POST
def firing_remove(request, firing_id):
    """Take away a firing that never was; what was noted of pieces stays with them."""
    gone = access.get_taught_firing(request.user, firing_id)
    kiln_id = gone.kiln_id
    firings.remove_firing(gone)
    messages.success(request, "The firing is taken away; what was noted of pieces stays.")
    return redirect("kiln", kiln_id)


def firing_cones(request, firing_id):
    """The witness cones by shelf, as they were read."""
    shown = access.get_taught_firing(request.user, firing_id)
    before = list(shown.witness_cones.all())
    chosen, problem = cones_to_read(
        log_and_cones.planned_cone(shown),
        before,
        request.POST.get("more", request.GET.get("more", "")),
    )
    form = ConesForm(request.POST or None, shelves=shown.kiln.shelves, cones=chosen, read=before)
    if request.method == "POST" and form.is_valid():
        firings.keep_cones(shown, form.read())
        messages.success(request, "The cones are noted.")
        return redirect("firing", shown.pk)
    context = {"firing": shown, "form": form, "chosen": chosen, "cones": CONES}
    context |= {"problem": problem, "more": "" if problem else request.GET.get("more", "")}
    return TemplateResponse(request, "studio/kilns/cones.html", context)


def firing_log(request, firing_id):
    """A controller's file: read, looked at with all that is odd about it, then kept or not."""
    shown = access.get_taught_firing(request.user, firing_id)
    form = LogForm()
    if request.method == "POST":
        try:
            answered = _log_choice(request, shown)
        except FiringError as error:
            messages.error(request, str(error))
            return redirect("firing_log", shown.pk)
        if answered is not None:
            return answered
        form = LogForm(request.POST, request.FILES)
        if form.is_valid() and _read(request, shown, form):
            return redirect("firing_log", shown.pk)
    waiting = shown.logs.filter(kept=False).first()
    reckoned = log_and_cones.reckon(shown, waiting)
    return TemplateResponse(
        request,
        "studio/kilns/log.html",
        {
            "firing": shown,
            "form": form,
            "waiting": waiting,
            "reckoned": reckoned,
            "opening": log_and_cones.opening_of(shown, reckoned),
            "drawing": log_and_cones.drawing_of(shown, reckoned) if reckoned else None,
            "has_log": shown.logs.filter(kept=True).exists(),
        },
        status=422 if form.errors else 200,
    )


def _log_choice(request, shown):
    """What a button on the page of a log that was read asks for; None for a new file."""
    if "keep" in request.POST:
        firings.keep_log(shown)
        messages.success(request, "The log is kept with the firing.")
        return redirect("firing", shown.pk)
    if "drop" in request.POST:
        firings.drop_log(shown, kept=request.POST["drop"] == "kept")
        messages.success(request, "The log is taken away.")
        return redirect("firing_log", shown.pk)
    if "turn" in request.POST:
        waiting = shown.logs.filter(kept=False).first()
        if waiting is None:
            raise FiringError("There is no log to turn; choose the file again.")
        firings.turn_unit(waiting)
        return redirect("firing_log", shown.pk)
    return None


def _read(request, shown, form) -> bool:
    upload = form.cleaned_data["file"]
    try:
        log = read_log(
            # One byte over is enough to be refused with the right sentence.
            upload.read(MOST_BYTES + 1),
            unit=form.cleaned_data["unit"],
            planned_peak_c=log_and_cones.planned_peak_c(shown),
        )
    except LogError as error:
        form.add_error("file", str(error))
        return False
    firings.look_at_log(shown, log, upload.name, request.user)
    return True
