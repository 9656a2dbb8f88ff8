"""The year sheet: every date of a year, windows as ink."""

import pytest

YEAR = "/sites/merrowmere-boathouse/setups/setup-end-of-the-jetty/year/2027"


def test_a_bar_for_every_window_and_the_same_in_words(client):
    page = client.get(YEAR)
    windows = [window for month in page.context["months"] for one in month.days for window in one.windows]
    assert len(page.context["sheet"].bars) == len(windows) > 100
    assert sum(len(month.days) for month in page.context["months"]) == 365
    assert page.context["open_count"] == sum(len(month.open_days) for month in page.context["months"])


def test_another_look_by_name(client):
    page = client.get(YEAR, params={"look": "side light"})
    assert page.context["wanted"].name == "side light"


def test_the_clocks_change_shows_as_a_step(client):
    days = {one.day.isoformat(): one for month in client.get(YEAR).context["months"] for one in month.days}
    before, after = days["2027-03-27"].windows[0], days["2027-03-28"].windows[0]
    assert abs(after.opens_utc_s - before.opens_utc_s - 86_400) < 240  # the sun knows no summer time


def test_polar_day_and_night_have_a_sheet(client):
    page = client.get("/sites/ternevag-quay/setups/setup-end-of-the-quay/year/2027")
    assert page.status_code == 200
    assert page.context["open_count"] > 20


@pytest.mark.parametrize("address,status,words", [
    (YEAR.replace("2027", "1949"), 422, "between 1950 and 2100"),
    (YEAR.replace("2027", "soon"), 422, "is a number"),
    (f"{YEAR}?look=moonlit", 422, "There is no look “moonlit”; there are"),
])
def test_bad_wishes_are_answered_in_words(client, address, status, words):
    page = client.get(address)
    assert page.status_code == status and words in page.text
