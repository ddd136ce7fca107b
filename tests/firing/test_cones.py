"""Cones against the published chart, at its two heating rates."""

import pytest

from studio.firing.cones import ORDER, Cone, ConeError, cone, equivalent, gap_c, step_up_c

# The cone maker's temperature equivalent chart, large and self-supporting cones, as printed in °F:
# last 100 °C at 108 °F/h (60 °C/h). Copies: formsbank.com/template/288043, scribd.com 456397963
# (2016), and two tables in open source code. The °C are the chart's own.
SLOW_F = {
    "022": 1087, "021": 1112, "020": 1159, "019": 1252, "018": 1319, "017": 1360, "016": 1422,
    "015": 1456, "014": 1485, "013": 1539, "012": 1582, "011": 1607, "010": 1657, "09": 1688,
    "08": 1728, "07": 1789, "06": 1828, "05": 1888, "04": 1945, "03": 1987, "02": 2016,
    "01": 2046, "1": 2079, "2": 2088, "3": 2106, "4": 2124, "5": 2167, "6": 2232, "7": 2262,
    "8": 2280, "9": 2300, "10": 2345,
}  # fmt: skip
# The same chart at 270 °F/h (150 °C/h).
FAST_F = {"06": 1855, "05": 1911, "04": 1971, "03": 2019, "02": 2052, "01": 2080, "1": 2109,
          "2": 2127, "3": 2138, "4": 2161, "5": 2205, "6": 2269, "7": 2295, "8": 2320, "9": 2336,
          "10": 2381}  # fmt: skip


@pytest.mark.parametrize("name", SLOW_F)
def test_the_slow_end_point_is_the_published_one(name):
    assert abs(cone(name).celsius - (SLOW_F[name] - 32) / 1.8) < 1


@pytest.mark.parametrize("name", FAST_F)
def test_the_fast_end_point_is_the_published_one(name):
    end = cone(name).end_point(150)
    assert end.published
    assert end.celsius == pytest.approx((FAST_F[name] - 32) / 1.8, abs=0.6)


def test_the_chart_is_whole_and_in_order():
    assert tuple(SLOW_F) == ORDER
    for rate in (60, 100, 150):
        told = [Cone(name).end_point(rate).celsius for name in ORDER if name in FAST_F]
        assert told == sorted(told)


def test_a_zero_before_the_number_is_another_cone():
    assert cone("06").celsius == 998
    assert cone("6").celsius == 1222
    assert cone("01") < cone("1") < cone("6") < cone("10")
    assert cone("022") < cone("010") < cone("06")


@pytest.mark.parametrize("text", ["06", " Cone 06 ", "cone06", "Δ06", "^06"])
def test_a_cone_is_read_as_it_is_written(text):
    assert cone(text) == Cone("06")


@pytest.mark.parametrize(
    ("text", "hint"),
    [("006", "06 or 6"), ("22", "022"), ("60", "not a cone"), ("", "not a cone"), ("11", "011")],
)
def test_what_is_no_cone_is_refused_with_the_nearest(text, hint):
    with pytest.raises(ConeError, match=hint):
        cone(text)


def test_a_faster_climb_needs_a_hotter_kiln():
    six = cone("6")
    assert six.end_point(60).celsius < six.end_point(100).celsius < six.end_point(150).celsius
    # The geometric middle of the rates lies in the middle of the temperatures, by construction.
    middle = six.end_point((60 * 150) ** 0.5).celsius
    assert middle == pytest.approx((six.celsius + six.fast_celsius) / 2)


def test_a_rate_off_the_chart_is_not_given_out_as_published():
    end = cone("6").end_point(400)
    assert (end.rate_c_per_h, end.published) == (150, False)
    assert not cone("015").end_point(150).published


def test_the_older_chart_is_not_quoted():
    # An older chart at 150 °C/h still circulates: 06 = 999, 6 = 1222, 10 = 1305 °C.
    assert cone("6").end_point(150).celsius > 1240
    assert cone("06").end_point(150).celsius > 1010


def test_a_peak_is_told_as_the_hottest_cone_it_brings_down():
    assert equivalent(1222, 60) == cone("6")
    assert equivalent(1221, 60) == cone("5")
    assert equivalent(1222, 150) == cone("5")
    assert equivalent(500, 60) is None


def test_half_a_step_and_a_whole_one_between_neighbours():
    # The table at 60 °C/h: cone 5 at 1186, 6 at 1222, 7 at 1239 °C.
    five, six, seven = (cone(name) for name in "567")
    assert step_up_c(five) == six.celsius - five.celsius
    assert step_up_c(six) == seven.celsius - six.celsius
    assert gap_c(six) == (seven.celsius - six.celsius) / 2
    hardest = cone(ORDER[-1])
    assert step_up_c(hardest) == hardest.celsius - hardest.neighbour(-1).celsius > 0
