"""Day length against the general-purpose package `astral`, within 0.05 h (3 minutes)."""

from __future__ import annotations

import datetime as dt

import pytest
from astral import Observer
from astral.sun import sunrise, sunset

PLACES = [0.0, 20.0, 40.7, 51.5, 53.3, 59.3, -33.9, -45.0]
DAYS = ["2026-01-01", "2026-02-15", "2026-03-20", "2026-05-01", "2026-06-21", "2026-08-10", "2026-09-23",
        "2026-11-25", "2026-12-21", "2028-02-29"]


@pytest.mark.parametrize("latitude", PLACES)
def test_day_length(ask, latitude):
    for text in DAYS:
        day = dt.date.fromisoformat(text)
        here = Observer(latitude=latitude, longitude=0.0)
        want = (sunset(here, day) - sunrise(here, day)).total_seconds() / 3600
        got = ask("coat", "--day-length", latitude, text, "--json", json_out=True)["hours"]
        assert abs(got - want) < 0.05, (latitude, text, got, want)
        assert abs(float(ask("coat", "--day-length", latitude, text).split()[0]) - got) < 0.01


def test_midnight_sun_and_polar_night(ask):
    assert ask("coat", "--day-length", 75, "2026-06-21", "--json", json_out=True)["hours"] == 24
    assert ask("coat", "--day-length", 75, "2026-12-21", "--json", json_out=True)["hours"] == 0
