"""How long a large log takes to read, pack and draw."""

import time

import numpy as np
import pytest

from studio.firing.drawing import draw
from studio.firing.log import read_log
from studio.firing.log_facts import facts_of
from studio.firing.packing import pack
from tests.firing.logs import clocked, line
from tests.firing.test_drawing import RAMP

pytestmark = pytest.mark.benchmark
MOST_S = 2.0


def test_a_hundred_thousand_lines():
    minutes, celsius = line(1653 / 100_000)
    data = clocked(minutes, celsius + np.random.default_rng(1).normal(0, 0.5, len(minutes)))
    begun = time.process_time()
    log = read_log(data)
    pack(log.minutes, log.celsius)
    draw(log, RAMP, above_c=facts_of(log).above_c)
    spent = time.process_time() - begun
    print(f"\n{log.line_count} lines read, packed and drawn in {spent:.2f} s, at most {MOST_S:.0f}")
    assert spent < MOST_S
