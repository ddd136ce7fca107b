"""Logs as controllers write them, and every fault a log has been seen to have."""

import time

import numpy as np
import pytest

from studio.firing.log import LogError, in_other_unit, read_log
from tests.firing.logs import clocked, elapsed, line

MINUTES, CELSIUS = line()


def kinds(log) -> list[str]:
    return [problem.kind for problem in log.problems]


def said(log) -> str:
    return " ".join(problem.sentence for problem in log.problems)


def assert_as_made(log, tolerance_c=0.6):
    """The log is the line it was made from, wherever it has points."""
    expected = np.interp(log.minutes, MINUTES, CELSIUS)
    told = log.minutes <= MINUTES[-1]
    assert np.abs(log.celsius - expected)[told].max() <= tolerance_c
    assert (np.diff(log.minutes) > 0).all()


def test_a_plain_file_has_nothing_to_be_said():
    log = read_log(elapsed(MINUTES, CELSIUS))
    assert (log.problems, log.unit, log.line_count) == ((), "C", len(MINUTES))
    assert_as_made(log)


@pytest.mark.parametrize(
    "data",
    [
        clocked(MINUTES, CELSIUS),
        elapsed(MINUTES * 60, CELSIUS, "seconds,temp °C"),
        elapsed(MINUTES * 60, CELSIUS, "Elapsed (s),Setpoint C,Temp C").replace(b",", b",999,", -1)
        .replace(b"Elapsed (s),999,Setpoint C,999,Temp C", b"Elapsed (s),Setpoint C,Temp C"),
        b"\xef\xbb\xbf" + elapsed(MINUTES, CELSIUS),
        elapsed(MINUTES, CELSIUS).replace(b"\n", b"\r\n"),
        elapsed(MINUTES, CELSIUS, "Kiln log of firing 12\nminutes,temp C"),
        elapsed(MINUTES, CELSIUS, "minutes;temp °C").decode().replace(",", ";").replace(".", ",")
        .encode("cp1252"),
        elapsed(MINUTES, CELSIUS).decode().encode("utf-16"),
    ],
    ids=["clock", "seconds", "setpoint", "bom", "crlf", "preamble", "semicolon", "utf16"],
)  # fmt: skip
def test_ways_of_writing_the_same(data):
    log = read_log(data)
    assert log.problems == ()
    assert_as_made(log)


@pytest.mark.parametrize(
    "pattern", ["{d:02d}/11/2026 {c}", "11/{d:02d}/2026 {c}", "2026-11-{d:02d}T{c}"]
)
@pytest.mark.parametrize("first_day", [3, 12, 25])
def test_dates_in_either_order(pattern, first_day):
    rows = []
    for minute, heat in zip(MINUTES.astype(int), CELSIUS, strict=True):
        at = 8 * 60 + minute
        clock = f"{at // 60 % 24:02d}:{at % 60:02d}:00"
        rows.append(f"{pattern.format(d=first_day + at // 1440, c=clock)},{heat:.1f}")
    log = read_log("\n".join(["when,temp C", *rows]).encode())
    assert log.problems == ()
    assert_as_made(log)


@pytest.mark.parametrize(
    ("span", "read_as", "hours", "others"),
    [
        # A firing with its cooling takes 1.5 to 150 hours: one unit fits, or two do.
        (20, "h", "20.0", ""),
        (120, "min", "2.0", " It could be h too."),
        (6000, "s", "1.7", " It could be min too."),
        (30_000, "s", "8.3", ""),
    ],
)
def test_a_time_without_a_unit_is_read_as_what_a_firing_lasts(span, read_as, hours, others):
    at = np.linspace(0, span, 60)
    log = read_log(elapsed(at, np.interp(at, [0, span / 2, span], [20, 1000, 60]), "time,temp C"))
    assert "time unit" in kinds(log)
    assert f"read as {read_as}, which makes {hours} hours.{others}" in said(log)
    assert ("could be" in said(log)) == bool(others)
    assert log.minutes[-1] == pytest.approx(60 * float(hours), rel=0.03)


def test_missing_minutes_are_told_and_nothing_is_moved():
    keep = (MINUTES < 300) | (MINUTES >= 350)
    log = read_log(elapsed(MINUTES[keep], CELSIUS[keep]))
    assert kinds(log) == ["missing"]
    assert "50 minutes are missing" in said(log)
    assert_as_made(log)


@pytest.mark.parametrize(("lost_s", "is_told"), [(90, False), (150, True)])
def test_a_gap_is_longer_than_two_minutes(lost_s, is_told):
    minutes, celsius = line(0.25, (0, 60, 120), (20, 200, 600))
    keep = (minutes < 80) | (minutes >= 80 + lost_s / 60 - 0.25)
    assert kinds(read_log(elapsed(minutes[keep], celsius[keep]))) == ["missing"] * is_told


@pytest.mark.parametrize(("shift", "way"), [(-60, "back"), (60, "forward")])
def test_a_clock_that_was_set_while_the_kiln_climbs(shift, way):
    # As summer time ends and begins: an hour, half way up.
    log = read_log(elapsed(MINUTES + np.where(MINUTES >= 300, shift, 0), CELSIUS))
    assert kinds(log) == ["clock"]
    # The head is line 1 and minute 0 line 2.
    assert f"At line 302 the clock jumps {way} by 60 minutes" in said(log)
    assert log.problems[0].lines == (302,)
    assert_as_made(log)


@pytest.mark.parametrize("shift", [-60, 60])
def test_a_clock_that_was_set_while_the_kiln_stands_hot_moves_nothing_it_cannot_know(shift):
    # In the hold the kiln does not move: nothing tells a jump forward from missing minutes.
    at = 860
    log = read_log(elapsed(MINUTES + np.where(at <= MINUTES, shift, 0), CELSIUS))
    assert kinds(log) == (["clock"] if shift < 0 else ["missing"])


@pytest.mark.parametrize(("forward_min", "kind"), [(45, "clock"), (35, "missing")])
def test_a_slow_kiln_tells_a_jump_only_where_it_should_have_moved_fifteen_degrees(
    forward_min, kind
):
    # 24 degrees an hour: 18 in 45 minutes, 14 in 35.
    minutes, celsius = line(1, (0, 900), (20, 380))
    moved = minutes + np.where(minutes >= 400, forward_min, 0)
    assert kinds(read_log(elapsed(moved, celsius))) == [kind]


def test_four_of_its_usual_steps_are_a_gap_to_any_controller():
    minutes, celsius = line(10)
    keep = np.ones(len(minutes), bool)
    keep[60:63] = False
    log = read_log(elapsed(minutes[keep], celsius[keep]))
    assert kinds(log) == ["missing"]
    assert "30 minutes are missing" in said(log)


def test_of_many_gaps_the_first_four_are_named_and_the_rest_counted():
    keep = np.ones(len(MINUTES), bool)
    for at in range(100, 700, 100):
        keep[at : at + 9] = False
    log = read_log(elapsed(MINUTES[keep], CELSIUS[keep]))
    assert said(log).count(" before line ") == 4
    assert " and 2 more. " in said(log)
    keep[:] = True
    keep[100:109] = False
    assert "more" not in said(read_log(elapsed(MINUTES[keep], CELSIUS[keep])))


def test_two_jumps_are_told_one_by_one_and_both_are_mended():
    moved = MINUTES + np.where(MINUTES >= 200, 60, 0) + np.where(MINUTES >= 400, -90, 0)
    log = read_log(elapsed(moved, CELSIUS))
    assert kinds(log) == ["clock", "clock"]
    assert "jumps forward by 60 minutes" in said(log)
    assert "jumps back by 90 minutes" in said(log)
    assert_as_made(log)


def test_a_pause_that_is_no_longer_than_usual_steps_is_no_gap():
    keep = (MINUTES < 300) | (MINUTES >= 302)
    assert read_log(elapsed(MINUTES[keep], CELSIUS[keep])).problems == ()


def test_doubled_lines_are_left_out():
    order = np.sort(np.concatenate([np.arange(len(MINUTES)), [100, 200, 300, 400]]))
    log = read_log(elapsed(MINUTES[order], CELSIUS[order]))
    assert kinds(log) == ["doubled"]
    assert "4 lines" in said(log)
    assert_as_made(log)


def test_every_line_doubled():
    order = np.repeat(np.arange(len(MINUTES)), 2)
    log = read_log(clocked(MINUTES[order], CELSIUS[order]))
    assert kinds(log) == ["doubled"]
    assert len(log.minutes) == len(MINUTES)


def test_a_stretch_appended_twice_is_left_out():
    order = np.concatenate([np.arange(400), np.arange(200, len(MINUTES))])
    log = read_log(elapsed(MINUTES[order], CELSIUS[order]))
    assert kinds(log) == ["doubled"]
    assert_as_made(log)


def test_a_repeated_stretch_in_which_the_kiln_moved_six_degrees_is_a_copy():
    # 1.2 degrees a minute: six in six minutes.
    order = np.concatenate([np.arange(406), np.arange(400, len(MINUTES))])
    assert np.ptp(CELSIUS[400:406]) == pytest.approx(6, abs=0.1)
    log = read_log(elapsed(MINUTES[order], CELSIUS[order]))
    assert "Lines 408 to 413 repeat earlier lines" in said(log)
    assert_as_made(log)


def test_two_temperatures_at_one_time():
    minutes, celsius = np.insert(MINUTES, 301, 300), np.insert(CELSIUS, 301, 400)
    log = read_log(elapsed(minutes, celsius))
    assert kinds(log) == ["same time"]
    assert_as_made(log)


def test_a_clock_without_seconds_is_spread():
    minutes, celsius = line(0.25)
    log = read_log(clocked(np.floor(minutes), celsius))
    assert kinds(log) == ["coarse clock"]
    assert_as_made(log)
    assert len(log.minutes) == len(minutes)


def test_the_newest_first_is_turned():
    log = read_log(elapsed(MINUTES[::-1], CELSIUS[::-1]))
    assert kinds(log) == ["order"]
    assert_as_made(log)


@pytest.mark.parametrize(
    ("lost", "words"), [([100, 700], "Lines 102 and 702 have"), ([100], "Line 102 has")]
)
def test_faults_of_the_thermocouple_are_left_out(lost, words):
    celsius = CELSIUS.copy()
    celsius[lost] = 9999
    celsius[500] = CELSIUS[500] + 200
    log = read_log(elapsed(MINUTES, celsius))
    assert kinds(log) == ["sensor", "spike"]
    assert f"{words} a temperature that no thermocouple means" in said(log)
    assert_as_made(log)


def test_lines_that_cannot_be_read_are_counted_and_quoted():
    data = elapsed(MINUTES, CELSIUS).decode().split("\n")
    data[200] = "199,ERR"
    data[300] = "power lost"
    log = read_log("\n".join(data).encode())
    assert kinds(log) == ["unread"]
    assert "Lines 201 and 301 could not be read and were left out: “199, ERR”." in said(log)


def test_fahrenheit_taken_for_celsius_by_an_impossible_peak():
    log = read_log(elapsed(MINUTES, CELSIUS * 1.8 + 32, "min,temp °C"))
    assert (log.unit, kinds(log)) == ("F", ["unit"])
    assert "hotter than any kiln" in said(log)
    assert_as_made(log)


def test_fahrenheit_taken_for_celsius_by_the_plan():
    # A low fire: 1828 °F (cone 06) is impossible in °C; 1087 °F (cone 022, 586 °C) is not.
    minutes, celsius = line(1, (0, 300, 310, 900), (20, 586, 586, 60))
    data = elapsed(minutes, celsius * 1.8 + 32, "min,temp °C")
    log = read_log(data, planned_peak_c=586)
    assert kinds(log) == ["unit"]
    assert "Is this really °C?" in said(log)
    assert "Read as °F it would be 586 °C" in said(log)
    other = in_other_unit(log)
    assert (other.unit, round(other.celsius.max())) == ("F", 586)
    assert np.allclose(in_other_unit(other).celsius, log.celsius)


def test_celsius_taken_for_fahrenheit_by_the_plan():
    log = read_log(elapsed(MINUTES, CELSIUS, "min,temp °F"), planned_peak_c=1222)
    assert kinds(log) == ["unit"]
    assert "Is this really °F?" in said(log)


def test_what_a_person_says_of_the_unit_outranks_the_file():
    log = read_log(elapsed(MINUTES, CELSIUS, "min,temp °F"), unit="C", planned_peak_c=1222)
    assert (log.unit, log.problems) == ("C", ())


def test_a_file_without_a_unit_is_guessed_and_said():
    fahrenheit = read_log(elapsed(MINUTES, CELSIUS * 1.8 + 32, "min,temp"))
    celsius = read_log(elapsed(MINUTES, CELSIUS, "min,temp"))
    assert (fahrenheit.unit, celsius.unit) == ("F", "C")
    assert kinds(fahrenheit) == kinds(celsius) == ["unit"]


def test_a_unit_that_changes_half_way_is_turned_back():
    values = np.where(MINUTES < 300, CELSIUS, CELSIUS * 1.8 + 32)
    log = read_log(elapsed(MINUTES, values, "min,temp"))
    assert "unit switch" in kinds(log)
    assert log.unit == "C"
    assert_as_made(log)


def test_fahrenheit_that_changes_half_way_is_turned_back_as_well():
    values = np.where(MINUTES < 300, CELSIUS * 1.8 + 32, CELSIUS)
    log = read_log(elapsed(MINUTES, values, "min,temp"))
    assert "unit switch" in kinds(log)
    assert log.unit == "F"
    assert_as_made(log)


def test_the_largest_code_of_a_twelve_bit_converter_is_no_peak():
    celsius = CELSIUS.copy()
    celsius[200] = 4095
    log = read_log(elapsed(MINUTES, celsius, "min,temp"))
    assert log.unit == "C"
    assert_as_made(log)


def test_the_head_tells_the_time_from_a_count_of_lines():
    minutes, celsius = line(5)
    rows = [f"{n},{m:g},{c:.1f}" for n, (m, c) in enumerate(zip(minutes, celsius, strict=True))]
    log = read_log("\n".join(["no,minutes,temp C", *rows]).encode())
    assert log.minutes[-1] == minutes[-1]
    assert_as_made(log)


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "empty"),
        (b"\x89PNG\r\n\0\0\0", "not a text file"),
        (b"time\n1\n2\n", "one column"),
        (b"name,class\nAmara,Bell 4\n", "No line has a time and a temperature"),
        (b"min,temp C\n0,20\n1,21\n", "Only 2 lines"),
        (b"min,temp C\n" + b"x,y\n" * 80, "No line has"),
        (b"0,20\n" * 600_000, "lines; up to"),
    ],
)
def test_what_is_no_log_is_refused_with_a_sentence(data, says):
    with pytest.raises(LogError, match=says):
        read_log(data)


def test_any_bytes_give_a_log_or_a_sentence():
    rng = np.random.default_rng(8)
    base = elapsed(*line(5))
    for _ in range(200):
        broken = bytearray(base)
        for at in rng.integers(0, len(broken), 30):
            broken[at] = rng.integers(32, 127)
        try:
            log = read_log(bytes(broken))
        except LogError:
            continue
        else:
            assert np.isfinite(log.celsius).all()
            assert np.isfinite(log.minutes).all()
            assert (np.diff(log.minutes) > 0).all()


@pytest.mark.parametrize("line", [b"," * 5_000_000, (b"," * 99 + b"\n") * 50_000])
def test_five_megabytes_of_commas_are_a_sentence_at_once(line):
    begun = time.process_time()
    with pytest.raises(LogError):
        read_log(line)
    assert time.process_time() - begun < 5


def test_columns_beyond_those_of_any_controller_do_not_hide_the_first():
    rows = "\n".join(f"{n * 600},{20 + 50 * n}{',0' * 500}" for n in range(20))
    log = read_log(f"seconds,temperature C\n{rows}".encode())
    assert len(log.minutes) == 20


@pytest.mark.parametrize(("from_unit", "words"), [("C", "from °C to °F"), ("F", "from °F to °C")])
def test_a_unit_that_changes_on_the_way_is_turned_back_and_told_with_its_line(from_unit, words):
    in_f = CELSIUS * 1.8 + 32
    at = 700  # 880 °C: far from where both scales meet
    mixed = np.where(
        np.arange(len(CELSIUS)) < at, *((CELSIUS, in_f) if from_unit == "C" else (in_f, CELSIUS))
    )
    log = read_log(elapsed(MINUTES, mixed, "minutes,temp"))
    assert "unit switch" in kinds(log)
    # The head is line 1, minute 0 line 2.
    assert f"At line {at + 2} the unit changes {words}" in said(log)
    assert next(each for each in log.problems if each.kind == "unit switch").lines == (at + 2,)
    assert_as_made(log, tolerance_c=1.2)


@pytest.mark.parametrize(
    ("data", "planned_c", "unit", "because"),
    [
        # 1222 °C is 2232 °F; a kiln here goes to 1400 °C.
        (elapsed(MINUTES, CELSIUS * 1.8 + 32, "minutes,temp"), None, "F", "beyond any kiln's"),
        (elapsed(MINUTES, CELSIUS, "minutes,temp"), 1222, "C", "fits the plan"),
        (elapsed(MINUTES, CELSIUS, "minutes,temp"), None, "C", "begins at 20"),
        # A bisque of cone 018 in °F, 1300: nothing but its room of 68 tells.
        (elapsed(*line(1, (0, 600, 900), (68, 1300, 300)), "minutes,temp"), None, "F",
         "begins at 68"),
    ],
)  # fmt: skip
def test_where_no_unit_stands_it_is_chosen_and_why_is_told(data, planned_c, unit, because):
    log = read_log(data, planned_peak_c=planned_c)
    assert log.unit == unit
    assert because in log.unit_because
    assert any(each.kind == "unit" for each in log.problems)


@pytest.mark.parametrize(
    ("head", "row"),
    [
        ("date,time,temp °C", "2026-11-{d:02d},{c},{h:.1f}"),
        ("date,time,setpoint °C,temp °C", "2026-11-{d:02d},{c},999,{h:.1f}"),
        ("time,date,temp °C", "{c},2026-11-{d:02d},{h:.1f}"),
        (None, "2026-11-{d:02d},{c},{h:.1f}"),
    ],
    ids=["apart", "setpoint beside", "time first", "no head"],
)
def test_a_date_and_a_clock_in_columns_of_their_own(head, row):
    rows = []
    for minute, heat in zip(MINUTES.astype(int), CELSIUS, strict=True):
        at = 8 * 60 + minute
        clock = f"{at // 60 % 24:02d}:{at % 60:02d}:00"
        rows.append(row.format(d=3 + at // 1440, c=clock, h=heat))
    log = read_log("\n".join([*([head] if head else []), *rows]).encode())
    assert {each.kind for each in log.problems} <= {"unit"}
    assert_as_made(log)
