"""Processes beside the site's own that measure photos, each held to a time and to a memory.

The site answers from threads of one process, of which only one computes at a time. A process gets
a function's name and plain arguments and gives plain data back; it opens no database and inherits
none. One that dies costs its own work a sentence, and the next work gets a new one.
"""

from __future__ import annotations

import contextlib
import logging
import multiprocessing
import os
import signal
import threading
import time
import traceback
from collections.abc import Callable, Iterator

import cv2
from django.conf import settings

try:
    import resource
except ImportError:  # not every system can hold a process to a memory
    resource = None

log = logging.getLogger(__name__)

MEMORY_BYTES = 5 * 1024**3 // 2
"""Beyond what a process begins with. Six photos of 64 megapixels, the largest that are taken,
needed 1.8 GiB, seven of a turned cup 1.1 GiB."""
SECONDS, SECONDS_A_PHOTO = 40, 12
"""A piece of work may take so long: about ten times what a photo takes on two slow cores."""
WAIT_S = 90
"""So long a request waits until a process is free."""
IDLE_S = 300
"""A process with nothing to do ends itself and gives its memory back."""

DIED = (
    "Measuring broke off: the computer may have run out of memory. Nothing is lost. Measure again, "
    "or take the photos in smaller."
)
TOO_LARGE = "These photos need more memory than there is to measure them. Take them in smaller."
TOO_LONG = "Measuring took too long and was stopped. Nothing is lost. Measure again."
BUSY = "Other photos are being measured just now. Try again in a minute."

BEGUN, SAID, DONE, FAILED, FAULT = "begun", "said", "done", "failed", "fault"


class WorkError(RuntimeError):
    """A piece of work came to nothing; the message is a sentence for the teacher."""


def count() -> int:
    """How many processes measure at once: one a core, unless the settings say otherwise."""
    return settings.PHOTO_WORKERS or os.cpu_count() or 1


def seconds_for(photos: int) -> float:
    """The time that measuring so many photos may take. [s]"""
    return SECONDS + SECONDS_A_PHOTO * photos


# -- in the process ------------------------------------------------------------------------------


def _serve(line) -> None:
    """Do what comes over the line until nobody asks any more."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is the site's; it ends this one itself
    cv2.setNumThreads(1)
    _limit_memory()
    while line.poll(IDLE_S):
        try:
            work, args = line.recv()
        except EOFError:
            return
        line.send((BEGUN, None))
        line.send(_outcome(work, args, lambda *words: line.send((SAID, words))))


def _outcome(work, args, tell) -> tuple[str, object]:
    try:
        return DONE, work(tell, *args)
    except MemoryError:
        return FAILED, TOO_LARGE
    except cv2.error as error:
        if error.code == cv2.Error.StsNoMem:
            return FAILED, TOO_LARGE
        return FAULT, traceback.format_exc()
    except Exception:
        return FAULT, traceback.format_exc()


def _limit_memory() -> None:
    if resource is None:
        return
    try:
        with open("/proc/self/statm") as file:
            now = int(file.read().split()[0]) * resource.getpagesize()
    except OSError:
        return
    most = now + MEMORY_BYTES
    _, hard = resource.getrlimit(resource.RLIMIT_AS)
    if hard == resource.RLIM_INFINITY or most < hard:
        resource.setrlimit(resource.RLIMIT_AS, (most, hard))


# -- in the site ---------------------------------------------------------------------------------


class _Worker:
    """One process and the line to it."""

    def __init__(self):
        # A copy of a process with threads may hold a lock that nobody opens, and its connections.
        how = multiprocessing.get_context("spawn")
        self.line, theirs = how.Pipe()
        self.process = how.Process(target=_serve, args=(theirs,), daemon=True)
        self.process.start()
        theirs.close()

    def end(self) -> None:
        self.process.kill()
        self.process.join()
        self.line.close()

    def steps(self, work: Callable, args: tuple, until: float) -> Iterator[tuple[str, object]]:
        """What it answers, message after message, the outcome last.

        Raises
        ------
        EOFError, OSError
            It is not there any more.
        TimeoutError
        """
        self.line.send((work, args))
        while True:
            if not self.line.poll(max(until - time.monotonic(), 0)):
                raise TimeoutError
            message = self.line.recv()
            yield message
            if message[0] not in {BEGUN, SAID}:
                return


class _Places:
    """As many places to measure at as there are cores, each with a process once it is used."""

    def __init__(self):
        self._lock = threading.Lock()
        self._idle: list[_Worker] = []
        self._free: threading.BoundedSemaphore | None = None

    @contextlib.contextmanager
    def one(self):
        """A place, as the list that holds its process; what is left in it is kept for the next."""
        with self._lock:
            if self._free is None:
                self._free = threading.BoundedSemaphore(count())
        if not self._free.acquire(timeout=WAIT_S):
            raise WorkError(BUSY)
        try:
            with self._lock:
                place = [self._idle.pop()] if self._idle else []
            yield place
            with self._lock:
                self._idle += place
        finally:
            self._free.release()


_places = _Places()


def steps(work: Callable, *args, seconds: float) -> Iterator[tuple[str, object]]:
    """Do a piece of work in a process of its own and tell how it goes on.

    Parameters
    ----------
    work : callable
        Of a module that a process can import; it is called with a function that tells its
        progress, then with ``args``.
    seconds : float
        The longest it may take.

    Yields
    ------
    (str, object)
        (SAID, words) for each progress, then (DONE, result).

    Raises
    ------
    WorkError
        It came to nothing; the sentence says why.
    """
    until = time.monotonic() + seconds
    with _places.one() as place:
        for again in (True, False):
            worker = place.pop() if place else _Worker()
            begun = finished = False
            try:
                for kind, content in worker.steps(work, args, until):
                    begun = True
                    if kind == SAID:
                        yield SAID, content
                    elif kind != BEGUN:
                        finished = True
                        outcome = kind, content
            except TimeoutError:
                raise WorkError(TOO_LONG) from None
            except (EOFError, OSError):
                if begun or not again:
                    raise WorkError(DIED) from None
                continue  # it had ended itself for want of work, or was ended meanwhile
            finally:
                if finished:
                    place.append(worker)
                else:
                    worker.end()
            break
    kind, content = outcome
    if kind == FAULT:
        log.error("Measuring photos failed:\n%s", content)
        raise WorkError(DIED)
    if kind == FAILED:
        raise WorkError(content)
    yield DONE, content


def run(work: Callable, *args, seconds: float):
    """As :func:`steps`, for the result alone."""
    for kind, content in steps(work, *args, seconds=seconds):
        if kind == DONE:
            return content
    raise AssertionError("unreachable")
