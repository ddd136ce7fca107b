"""Clays that ship with the site.

The shrinkages are common practice, no source: published rules of thumb disagree by some points
(earthenware 8 to 12 %, stoneware 10 to 15 %, porcelain 14 to 20 %), so a school copies one and
fills in what its supplier's sheet or its own test bars say.
"""

from decimal import Decimal

from django.db import transaction

from studio.models import Clay, ClayShrinkage, Stage

LATER_STAGES = tuple(Stage)[1:]
"""As :data:`studio.ware.stages.LATER_STAGES`, with label and name."""

# Name, maturing cone, absorption [%], linear shrinkage from wet to each later stage [%].
STARTER_CLAYS = (
    ("Mid-fire stoneware", "6", "2.00", ("2.5", "6.0", "6.5", "12.0")),
    ("High-fire stoneware", "10", "2.00", ("2.5", "6.0", "6.5", "13.0")),
    ("Grogged sculpture clay", "6", "4.00", ("2.0", "4.5", "5.0", "9.0")),
    ("Earthenware", "04", "10.00", ("2.5", "6.0", "6.5", "8.0")),
    ("Porcelain", "6", "0.50", ("3.0", "7.0", "7.5", "15.0")),
)
# Between pieces of one batch, as a standard deviation (our proposal, from memory) [%].
STARTER_SPREAD = Decimal("0.50")


@transaction.atomic
def ensure_starter_clays() -> None:
    """Add the clays that ship with the site where they are missing; nothing else is touched."""
    for name, cone, absorption, percents in STARTER_CLAYS:
        clay, is_new = Clay.objects.get_or_create(
            owner=None,
            name=name,
            defaults={"maturing_cone": cone, "absorption_percent": Decimal(absorption)},
        )
        if is_new:
            ClayShrinkage.objects.bulk_create(
                ClayShrinkage(
                    clay=clay, stage=stage, percent=Decimal(percent), spread_percent=STARTER_SPREAD
                )
                for stage, percent in zip(LATER_STAGES, percents, strict=True)
            )
