"""Measure cups on photographs: `manage.py read_photo FILE... [--json]`. Writes nothing."""

import json
import sys
from pathlib import Path

from django.core.management.base import BaseCommand

from studio.camera.intake import MAX_BYTES
from studio.camera.mat import CHECK_BAR_MM
from studio.camera.read import PhotoReading, read_photos

UNREADABLE_EXIT = 2


class Command(BaseCommand):
    """Read photographs of cups on the mat and tell their sizes."""

    help = "Measure cups on photographs of the mat. Nothing is written to the database."

    def add_arguments(self, parser):
        parser.add_argument("files", nargs="+", metavar="FILE")
        parser.add_argument("--json", action="store_true", help="print a list for other programs")
        parser.add_argument(
            "--bar-mm",
            type=float,
            default=CHECK_BAR_MM,
            help="length of the printed check bar by a ruler, in mm (100)",
        )

    def handle(self, *args, **options):
        files, unread = [], []
        for name in options["files"]:
            data, problem = _content(name)
            if problem:
                unread.append((name, problem))
            else:
                files.append((name, data))
        readings = {r.file: r for r in read_photos(files, check_bar_mm=options["bar_mm"])}
        for name, problem in unread:
            readings[name] = PhotoReading(name, message=problem, readable=False)
        ordered = [readings[name] for name in options["files"]]
        if options["json"]:
            shown = [{**r.as_dict(), "file": Path(r.file).name} for r in ordered]
            self.stdout.write(json.dumps(shown, indent=2))
        else:
            for reading in ordered:
                self.stdout.write(_as_text(reading))
        faults = [r for r in ordered if not r.readable]
        for reading in faults:
            self.stderr.write(reading.message)
        if faults:
            sys.exit(UNREADABLE_EXIT)


def _content(name):
    """Bytes of a file, or the sentence why there are none."""
    path = Path(name)
    try:
        if path.is_dir():
            return None, f"{name} is a folder. Name the photos in it."
        if path.stat().st_size > MAX_BYTES:
            return None, f"{name} is too large to read. Send a smaller version."
        return path.read_bytes(), None
    except FileNotFoundError:
        return None, f"{name} was not found. Check the name and the folder."
    except OSError:
        return None, f"{name} cannot be opened. Check that it may be read."


def _as_text(reading):
    head = f"{Path(reading.file).name}: {reading.code or 'no code'}, {reading.view or 'no view'}"
    lines = [head]
    for name, m in reading.measures.items():
        word, _, unit = name.rpartition("_")
        mark = "" if m.trusted else "  not to be relied on"
        unit = "°" if unit == "deg" else unit
        lines.append(f"  {word.replace('_', ' '):<16}{m.value:8.2f} ± {2 * m.u:.2f} {unit}{mark}")
    lines += [f"  {sentence}" for sentence in (reading.message, reading.note) if sentence]
    return "\n".join(lines)
