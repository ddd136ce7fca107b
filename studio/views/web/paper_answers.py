"""What views that answer with printed paper share."""

from django.http import Http404, HttpResponse

from studio.models import Section
from studio.paper.sheets import PAPERS, Paper


def paper_named(key: str) -> Paper:
    """The paper of an address, or 404."""
    if key not in PAPERS:
        raise Http404("Paper comes as letter or a4.")
    return PAPERS[key]


def papers_for(section: Section) -> list[Paper]:
    """The papers, the likelier of the house first: who measures in inches prints on Letter."""
    other = "a4" if section.unit == Section.Unit.INCH else "letter"
    return sorted(PAPERS.values(), key=lambda paper: paper.key == other)


def pdf(data: bytes, name: str) -> HttpResponse:
    """A PDF that opens in the browser and is saved under a telling name."""
    response = HttpResponse(data, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="{name}"'
    return response
