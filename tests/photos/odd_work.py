"""Pieces of work that go wrong; a measuring process imports this, so nothing of Django is here."""

import os
import sys
import time

import cv2
import numpy as np


def echo(tell, *words):
    for k, _ in enumerate(words):
        tell(k + 1, len(words))
    return words, os.getpid(), "django.db" in sys.modules


def die(tell):
    os._exit(9)


def die_at_work(tell, photos, bar_mm):
    os._exit(9)


def sleep(tell, seconds):
    tell("asleep")
    time.sleep(seconds)


def take_memory(tell, count):
    return int(np.ones(count, np.uint8)[-1])


def take_memory_in_pictures(tell, side):
    return cv2.resize(np.zeros((100, 100), np.float64), (side, side)).shape


def fault(tell):
    raise ZeroDivisionError("of ours")
