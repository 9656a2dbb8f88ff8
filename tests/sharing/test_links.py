import hashlib
from dataclasses import replace

import pytest

from app.errors import BadInput, NotFound
from app.sharing.links import (
    AFTER_THE_DAY_S,
    DAY_S,
    LONGEST_S,
    Link,
    Opens,
    State,
    check_end,
    could_be_token,
    digest,
    new_token,
    opened,
    renewed,
    state_of,
    usual_end_utc_s,
    withdrawn,
)  # fmt: skip

NOW = 1_800_000_000.0
TOKEN = "t" * 32
LINK = Link("l1", "tarn-evening", Opens.COUPLE, digest(TOKEN), NOW, NOW + 30 * DAY_S)


def test_a_token_has_192_bits_and_fits_an_address():
    tokens = {new_token() for _ in range(200)}
    assert len(tokens) == 200
    assert all(could_be_token(token) for token in tokens)


@pytest.mark.parametrize("text", ["", "short", "t" * 31, "t" * 33, "t" * 31 + "/", "t" * 31 + "é", "t" * 32 + "\n"])
def test_what_has_not_the_shape_of_a_token_is_known_before_any_lookup(text):
    assert not could_be_token(text)


def test_only_the_digest_is_kept():
    assert digest(TOKEN) == hashlib.sha256(TOKEN.encode()).hexdigest()
    assert TOKEN not in repr(LINK)


def test_an_open_link_opens_and_remembers_when():
    assert opened(LINK, TOKEN, NOW + 5).opened_utc_s == NOW + 5
    assert state_of(LINK, NOW) is State.OPEN


def test_it_ends_at_its_last_second():
    assert state_of(LINK, LINK.expires_utc_s - 1) is State.OPEN
    assert state_of(LINK, LINK.expires_utc_s) is State.EXPIRED


def test_a_withdrawn_link_is_withdrawn_even_when_it_has_expired():
    taken = withdrawn(LINK, NOW + 10)
    assert state_of(taken, NOW + 10) is State.WITHDRAWN
    assert state_of(taken, LINK.expires_utc_s + 1) is State.WITHDRAWN
    assert withdrawn(taken, NOW + 99).withdrawn_utc_s == NOW + 10


@pytest.mark.parametrize(
    "link, token, now_utc_s",
    [
        (None, TOKEN, NOW),
        (LINK, "u" * 32, NOW),
        (LINK, "", NOW),
        (None, "", NOW),
        (LINK, "\ud800", NOW),
        (LINK, TOKEN, LINK.expires_utc_s),
        (withdrawn(LINK, NOW), TOKEN, NOW + 1),
    ],
    ids=["unknown", "wrong", "empty", "nothing", "no text", "expired", "withdrawn"],
)
def test_wrong_expired_and_withdrawn_end_the_same(link, token, now_utc_s):
    with pytest.raises(NotFound) as refused:
        opened(link, token, now_utc_s)
    assert str(refused.value) == "This link opens nothing, or no longer. Ask your photographer for a new one."


def test_an_expired_link_can_be_renewed_for_the_same_token():
    late = LINK.expires_utc_s + DAY_S
    again = renewed(LINK, late, late + 7 * DAY_S)
    assert opened(again, TOKEN, late).token_sha256 == LINK.token_sha256


def test_a_withdrawn_link_stays_closed():
    with pytest.raises(BadInput, match="stays closed. Make a new one"):
        renewed(withdrawn(LINK, NOW), NOW, NOW + DAY_S)


@pytest.mark.parametrize("expires_utc_s", [NOW, NOW - 1, NOW + LONGEST_S + 1, float("inf"), float("nan")])
def test_every_link_has_an_end_within_400_days(expires_utc_s):
    with pytest.raises(BadInput, match="in the future, within 400 days"):
        check_end(NOW, expires_utc_s)
    with pytest.raises(BadInput, match="in the future, within 400 days"):
        renewed(LINK, NOW, expires_utc_s)


@pytest.mark.parametrize("expires_utc_s", [LINK.made_utc_s, LINK.made_utc_s - 1, float("inf"), float("nan")])
def test_no_link_ends_before_it_was_made_or_never(expires_utc_s):
    with pytest.raises(BadInput, match="after it was made"):
        replace(LINK, expires_utc_s=expires_utc_s)


def test_a_link_usually_outlives_the_day_by_a_month():
    done = NOW + 10 * DAY_S
    assert usual_end_utc_s(done, NOW) == done + AFTER_THE_DAY_S
    assert usual_end_utc_s(NOW - 10 * DAY_S, NOW) == NOW + AFTER_THE_DAY_S
    assert usual_end_utc_s(NOW + 1000 * DAY_S, NOW) == NOW + LONGEST_S
