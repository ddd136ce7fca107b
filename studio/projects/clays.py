"""Writes to clays. Each write is whole or not at all."""

from collections.abc import Mapping

from django.db import transaction

from studio.models import (
    Clay,
    ClayShrinkage,
)


@transaction.atomic
def keep_clay(clay: Clay, shrinkages: Mapping[str, tuple]) -> Clay:
    """Save a clay with its shrinkage and spread [%] by stage; a stage left out is taken away."""
    clay.save()
    clay.shrinkages.exclude(stage__in=shrinkages).delete()
    for stage, (percent, spread) in shrinkages.items():
        ClayShrinkage.objects.update_or_create(
            clay=clay, stage=stage, defaults={"percent": percent, "spread_percent": spread}
        )
    return clay
