"""The craft checks that the site knows: every module of this package that holds a ``CHECK``.

The modules are looked for on first use, since they draw with helpers of ``reports``, which ask here
for the checks.
"""

from __future__ import annotations

import pkgutil
from functools import cache
from importlib import import_module

import rubrics.checks

from .descriptor import Check, Figure


@cache
def checks() -> dict[str, Check]:
    """All descriptors by name, in the order in which a piece is looked over."""
    names = (module.name for module in pkgutil.iter_modules(rubrics.checks.__path__))
    modules = (import_module(f"{rubrics.checks.__name__}.{name}") for name in names)
    found = [module.CHECK for module in modules if hasattr(module, "CHECK")]
    return {check.name: check for check in sorted(found, key=lambda check: check.place)}


def check_named(name: str) -> Check:
    """The descriptor of one check.

    Raises
    ------
    ValueError
        There is no such check.
    """
    try:
        return checks()[name]
    except KeyError:
        raise ValueError(f"Nothing is known of a check “{name}”.") from None


def check_of(key: str) -> Check:
    """The check of a figure's key, as in "rim_level.rise_mm"."""
    return check_named(key.partition(".")[0])


def figure_of(key: str) -> Figure:
    """The figure of a key, as in "rim_level.rise_mm"."""
    return check_of(key).figure(key.partition(".")[2])


def judgeable() -> dict[str, Figure]:
    """The figures that a criterion may lean on, by key."""
    return {
        f"{check.name}.{figure.name}": figure
        for check in checks().values()
        for figure in check.figures
        if figure.label
    }


def figure_choices() -> list[tuple[str, str]]:
    """The same as (key, label), for a field to choose from."""
    return [(key, figure.label) for key, figure in judgeable().items()]
