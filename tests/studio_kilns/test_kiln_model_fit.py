"""The kiln's model fitted to a log through the page, used by schedules and forecasts, undone.

The log is that of a made-up kiln whose wall conducts 1.2 and whose load takes up 0.8 times what the model takes, as the kiln
room's own simulation runs it: a fit must find those factors again.
"""

from __future__ import annotations

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from tests.book_firings.conftest import curve_csv
from wareboard.book.firings import kiln_model, reckoning
from wareboard.book.firings.models import Firing
from wareboard.kiln.calibrate import scaled
from wareboard.kiln.schedule import glaze_schedule
from wareboard.kiln.thermal import simulate
from wareboard.studio.kilns.known_kilns import kiln_at

FIRING = "/kilns/old-round-kiln/firings/1/"


def made_up_log() -> bytes:
    model = kiln_model.fit_base(kiln_at("old-round-kiln").sizes)
    fired = simulate(scaled(model, 1.2, 0.8), glaze_schedule("6"), cool_to_c=150.0)
    both = zip(fired.times_s, fired.chamber_c, strict=True)
    return ("seconds,temp C\n" + "\n".join(f"{at:.0f},{temp:.2f}" for at, temp in both) + "\n").encode()


def test_a_fit_finds_a_made_up_kilns_factors_and_is_used_and_undone(client: Client, firing: Firing) -> None:
    client.post(f"{FIRING}log/", {"log": SimpleUploadedFile("log.csv", made_up_log())})
    log = firing.logs.get()
    page = client.post(f"{FIRING}log/{log.pk}/fit/", follow=True).content.decode()
    fit = reckoning.newest_fit(firing.kiln)
    assert fit is not None
    assert fit.wall[0] == pytest.approx(1.2, abs=0.05)
    assert fit.load[0] == pytest.approx(0.8, abs=0.05)
    assert fit.words in page
    assert "fitted to the log of firing 1" in client.get("/kilns/schedule/").content.decode()
    assert "fitted to the log of firing 1" in client.get("/kilns/old-round-kiln/").content.decode()
    page = client.get("/kilns/schedule/").content.decode()
    assert "the wall as fitted to 1 log" in page
    assert "a check alone" in page
    learned = client.get("/learned/").content.decode().lower()
    assert "what the wall of old round kiln conducts" in learned
    client.post(f"{FIRING}undo/")
    assert reckoning.newest_fit(firing.kiln) is None


def test_a_log_that_ends_too_soon_is_told_and_its_kwh_make_up_for_it(client: Client, firing: Firing) -> None:
    client.post(f"{FIRING}log/", {"log": SimpleUploadedFile("log.csv", curve_csv(cool_h=0.2))})
    log = firing.logs.get()
    page = client.post(f"{FIRING}log/{log.pk}/fit/", follow=True).content.decode()
    assert "give the kWh of the meter" in page
    Firing.objects.filter(pk=firing.pk).update(kwh=50.0)
    client.post(f"{FIRING}log/{log.pk}/fit/")
    assert reckoning.newest_fit(firing.kiln) is not None


def test_without_a_plan_there_is_nothing_to_fit(client: Client, firing: Firing) -> None:
    Firing.objects.filter(pk=firing.pk).update(schedule=None)
    client.post(f"{FIRING}log/", {"log": SimpleUploadedFile("log.csv", curve_csv())})
    page = client.post(f"{FIRING}log/{firing.logs.get().pk}/fit/", follow=True).content.decode()
    assert "Write the plan first" in page
