"""Compute the craft checks of the readings in a file, without the database."""

import json
from argparse import RawDescriptionHelpFormatter
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from rubrics.checks import plan_json
from rubrics.checks.compute import check_pieces
from rubrics.craft.plan import Plan
from rubrics.craft.readings import Reading
from rubrics.craft.results import Refused, as_figures
from studio.measuring.readings_csv import COLUMNS, parse
from studio.ware.stages import STAGES
from studio.ware.uncertainty import COVERAGE_FACTOR

CANNOT_READ = 2
"""Exit code for a file, of readings or a plan, that cannot be used."""


class Command(BaseCommand):
    """``python manage.py check_readings FILE.csv [--json] [--stage S] [--plan plan.json]``"""

    help = (
        "Compute the craft checks of every piece in a file of readings. Nothing is kept.\n\n"
        f"The file's first row names its columns: {', '.join(COLUMNS)}.\n"
        "A line that cannot be read, or that says something else of a station read before,\n"
        "stops the whole file: every such line is named and nothing is computed.\n"
    )
    requires_system_checks = ()

    def create_parser(self, prog_name, subcommand, **kwargs):
        kwargs.setdefault("formatter_class", RawDescriptionHelpFormatter)
        kwargs.setdefault("epilog", plan_json.__doc__)
        return super().create_parser(prog_name, subcommand, **kwargs)

    def add_arguments(self, parser):
        parser.add_argument("file", type=Path, help="readings as CSV")
        parser.add_argument("--json", action="store_true", help="print one JSON object")
        parser.add_argument(
            "--stage", choices=STAGES, help="check this stage, not the latest one with readings"
        )
        parser.add_argument("--plan", type=Path, help="plan as JSON; else the starter plan")

    def handle(self, *args, **options):
        plan = _plan(options["plan"])
        parsed = parse(_bytes(options["file"]))
        if parsed.problems:
            count = len(parsed.problems)
            summary = f"{options['file'].name} was not used; {count} problem{'s' * (count > 1)}:"
            raise _unusable("\n".join([summary, *map(str, parsed.problems)]))
        for note in [*parsed.notes, *_unknown_instruments(parsed.rows, plan)]:
            self.stderr.write(note)
        readings = _readings_by_piece(parsed.rows, plan)
        results = check_pieces(readings, plan, options["stage"])
        if options["json"]:
            pieces = {
                code: {name: as_figures(result) for name, result in checks.items()}
                for code, checks in results.items()
            }
            self.stdout.write(json.dumps({"pieces": pieces}, indent=1, allow_nan=False))
        else:
            self.stdout.write("\n".join(_table(results)))


def _unusable(sentence):
    return CommandError(sentence, returncode=CANNOT_READ)


def _bytes(path):
    try:
        return path.read_bytes()
    except OSError as error:
        raise _unusable(f"{path} cannot be read: {error.strerror or error}.") from error


def _plan(path):
    if path is None:
        return Plan()
    try:
        data = json.loads(_bytes(path).decode("utf-8-sig"))
    except UnicodeDecodeError as error:
        raise _unusable(f"{path} is not a UTF-8 text.") from error
    except json.JSONDecodeError as error:
        raise _unusable(f"{path} is not JSON: line {error.lineno}, {error.msg}.") from error
    except RecursionError as error:
        raise _unusable(f"{path} is nested too deep for a plan.") from error
    try:
        return plan_json.plan_from_dict(data)
    except plan_json.PlanFileError as error:
        raise _unusable(f"{path}: {error}") from error


def _instrument(name, plan):
    """The plan's name for an instrument, whatever its capitals; None for an unknown one."""
    return next((known for known in plan.instruments if known.lower() == name.lower()), None)


def _unknown_instruments(rows, plan):
    names = sorted({row.instrument for row in rows if row.instrument})
    return [
        f"The plan has no instrument “{name}”; its readings count as taken with the usual one."
        for name in names
        if _instrument(name, plan) is None
    ]


def _readings_by_piece(rows, plan):
    by_piece = {}
    for row in rows:
        entry = row.entry
        reading = Reading(
            quantity=entry.quantity,
            stage=entry.stage,
            value=entry.value,
            u=plan.uncertainty_of(
                entry.quantity, entry.stage, _instrument(row.instrument, plan) or ""
            ),
            name=entry.name,
            height_mm=entry.height_mm,
            azimuth_deg=entry.azimuth_deg,
        )
        by_piece.setdefault(row.piece, []).append(reading)
    return by_piece


def _table(results):
    """Lines of a table: piece, check, stage, verdict and what it rests on."""
    rows = [("piece", "check", "stage", "verdict", "figures")]
    for code, checks in results.items():
        if not checks:
            rows.append((code, "", "", "", "nothing that a check is computed from"))
        for name, result in checks.items():
            refused = isinstance(result, Refused)
            verdict = "refused" if refused else result.verdict or "no limit"
            told = result.sentence if refused else _judged(result)
            rows.append((code, name.replace("_", " "), result.stage, verdict, told))
    widths = [max(len(row[column]) for row in rows) for column in range(4)]
    for row in rows:
        cells = [cell.ljust(width) for cell, width in zip(row, widths, strict=False)]
        yield "  ".join([*cells, row[4]]).rstrip()


def _judged(result):
    return "; ".join(
        f"{each.figure} {each.value:.3g} ± {COVERAGE_FACTOR * each.u:.2g}, limit {each.limit:g}"
        for each in result.judged
    )
