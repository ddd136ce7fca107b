"""The measuring itself, on every core: pure work on bytes, in processes beside the site's own.

The site answers from threads of one process, of which only one computes at a time.
"""

from __future__ import annotations

import multiprocessing
import os
import threading
from collections.abc import Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass, replace

import cv2
from django.conf import settings

from studio.camera import intake, read


@dataclass(frozen=True, slots=True)
class Kept:
    """A photo as it is kept: its name for the sentences, its bytes, its focal length [mm]."""

    name: str
    data: bytes
    focal_35mm: float | None


def compute(photos: Sequence[Kept], bar_mm: float | None) -> list[read.PhotoReading]:
    """Measure photos of one piece and stage together; one that cannot be opened is told and does
    not keep the others. In the order of the photos."""
    out: list[read.PhotoReading | None] = []
    pictures = []
    for photo in photos:
        try:
            picture = intake.decode(photo.name, photo.data)
        except intake.PhotoError as error:  # kept well enough to look at, not to measure on
            out.append(read.PhotoReading(photo.name, message=str(error)))
        else:
            pictures.append(replace(picture, f35_mm=photo.focal_35mm))
            out.append(None)
    seen = iter(read.read_together(pictures, check_bar_mm=bar_mm) if pictures else ())
    return [one or next(seen) for one in out]


class _Pool:
    """One pool for the whole site, begun with the first photo to measure."""

    def __init__(self):
        self._lock = threading.Lock()
        self._pool: ProcessPoolExecutor | None = None

    def submit(self, work, *args) -> Future:
        with self._lock:
            if self._pool is None:
                self._pool = ProcessPoolExecutor(
                    count(),
                    # A copy of a process with threads may hold a lock that nobody opens.
                    mp_context=multiprocessing.get_context("spawn"),
                    initializer=cv2.setNumThreads,
                    initargs=(1,),
                )
            return self._pool.submit(work, *args)

    def drop(self) -> None:
        with self._lock:
            if self._pool is not None:
                self._pool.shutdown(wait=False, cancel_futures=True)
            self._pool = None


_pool = _Pool()


def count() -> int:
    """How many processes measure at once; 0 for the site's own alone."""
    told = getattr(settings, "PHOTO_WORKERS", None)
    return (os.cpu_count() or 1) if told is None else told


def begin(work, *args) -> Future:
    """Start a piece of work beside the site; its result is asked for by `result`."""
    if count() > 0:
        return _pool.submit(work, *args)
    done: Future = Future()
    try:
        done.set_result(work(*args))
    except Exception as error:  # handed to who asks for the result, as a process would
        done.set_exception(error)
    return done


def result(begun: Future, work, *args):
    """What came of it; when its process died (out of memory), it is done here instead."""
    try:
        return begun.result()
    except BrokenProcessPool:
        _pool.drop()
        return work(*args)
