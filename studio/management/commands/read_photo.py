"""Measure cups on photographs: `manage.py read_photo FILE... [--json]`. Writes nothing."""

import json
import sys
from pathlib import Path

from django.core.management.base import BaseCommand

from studio.camera.intake import MAX_BYTES, PhotoError, decode
from studio.camera.mat import CHECK_BAR_MM
from studio.camera.read import PhotoReading, read_photos
from studio.camera.wheel.door import read_turned

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

        parser.add_argument(
            "--turned",
            action="store_true",
            help="the files show one cup on a mat that was turned between them",
        )

    def handle(self, *args, **options):
        files, unread = [], []
        for name in options["files"]:
            data, problem = _content(name)
            if problem:
                unread.append((name, problem))
            else:
                files.append((name, data))
        if options["turned"]:
            self._turned(files, unread, options)
            return
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

    def _turned(self, files, unread, options):
        """All files together as one cup."""
        photos = []
        for name, data in files:
            try:
                photos.append(decode(Path(name).name, data))
            except PhotoError as problem:
                unread.append((name, str(problem)))
        cup = read_turned(photos, options["bar_mm"])
        if options["json"]:
            self.stdout.write(json.dumps(cup.as_dict(), indent=2))
        else:
            self.stdout.write(_turned_as_text(cup))
        for _, problem in unread:
            self.stderr.write(problem)
        if unread:
            sys.exit(UNREADABLE_EXIT)


def _turned_as_text(cup):
    lines = [f"{cup.code or 'no code'}, {len(cup.used)} photos together"]
    lines += [f"  {name}: {why}" for name, why in cup.left_out.items()]
    for r in cup.readings:
        at = "" if r.azimuth_deg is None else f" {round(r.azimuth_deg) % 360}°"
        up = "" if r.height_mm is None else f" {r.height_mm:g} up"
        what = f"{r.quantity.replace('_', ' ')} {r.name.replace('_', ' ')}".strip() + at + up
        mark = "" if r.trusted else "  not to be relied on"
        unit = "°" if r.quantity == "handle_twist" else "mm"
        lines.append(f"  {what:<28}{r.value:8.2f} ± {2 * r.u:.2f} {unit}{mark}")
    return "\n".join([*lines, *([f"  {cup.message}"] if cup.message else [])])


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
