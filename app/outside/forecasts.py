"""The forecast from whoever has one: the first source, the next, the last one kept, or none."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import httpx

from app.errors import Unavailable
from app.outside.fetch import open_client
from app.outside.kept_answer import Batch, Kept, Source, Spot, Wait
from app.picture.forecast import HOUR_S, Forecast, span_words

NOTHING = "No forecast is known. The sun needs none; type in what you see of cloud and wind."
PAUSE_S = 8.0
MOST_SPOTS = 20


@dataclass(frozen=True)
class Outcome:
    """What is known now, and what happened on the way.

    Attributes
    ----------
    forecasts : tuple of Forecast or None
        For each spot that was asked for, in their order.
    words : tuple of str
        Sentences for the reader: who gave it, how old it is, who failed and why.
    to_keep : tuple of Kept
        What a store puts in place of what it has of the same source and spot.
    waits : tuple of Wait
        What a store puts in place of all its waits.
    fresh : bool
        Whether the first spot's forecast is the newest that its source has.
    clock_ahead_s : float, optional
        This machine's clock less the one of the service that answered last. [s]
    """

    forecasts: tuple[Forecast | None, ...]
    words: tuple[str, ...]
    to_keep: tuple[Kept, ...]
    waits: tuple[Wait, ...]
    fresh: bool
    clock_ahead_s: float | None


def ask_forecasts(
    sources: Sequence[Source], spots: Sequence[Spot], kept: Iterable[Kept], waits: Iterable[Wait], now_utc_s: float,
    chance: float = 0.5, client: httpx.Client | None = None,
) -> Outcome:  # fmt: skip
    """Ask for the weather of one or more spots, the first being the one that matters.

    Parameters
    ----------
    sources : sequence of Source
        In the order they are asked; none where the owner set none.
    kept, waits
        What the store has of these sources and spots.
    now_utc_s : float
        This machine's clock. [s since 1970 UTC]
    chance : float
        A random number in 0..1, so that not everybody asks at the same second.
    client : httpx.Client, optional
        One with other time limits, for tests.

    Notes
    -----
    Nothing is raised for a source that fails: what was kept is used, and said. All spots
    come from one source where it has the first; a section joins no two models.
    """
    if not 0 < len(spots) <= MOST_SPOTS:
        raise ValueError(f"Ask for 1 to {MOST_SPOTS} spots at once; {len(spots)} came.")
    asking = _Asking(spots, tuple(kept), {wait.source: wait for wait in waits}, now_utc_s, chance)
    with client or open_client(PAUSE_S) as opened:
        for source in sources:
            if asking.try_source(source, opened):
                return asking.outcome(source, True)
    return asking.last_kept(sources)


class _Asking:
    """One round of questions: what came, what failed, and what has to be kept of it."""

    def __init__(
        self, spots: Sequence[Spot], kept: tuple[Kept, ...], waits: dict[str, Wait], now_utc_s: float, chance: float
    ) -> None:
        self.spots, self.kept, self.waits, self.now_utc_s, self.chance = spots, kept, waits, now_utc_s, chance
        self.words: list[str] = []
        self.to_keep: list[Kept] = []
        self.clock_ahead_s: float | None = None

    def try_source(self, source: Source, client: httpx.Client) -> bool:
        """Ask one source and tell whether it has the first spot."""
        wait = self.waits.get(source.key)
        if wait and self.now_utc_s < wait.until_utc_s:
            left = span_words(wait.until_utc_s - self.now_utc_s)
            self.words.append(f"{source.name} asked to be left alone; it is asked again in {left}.")
            return False
        before = {one.spot: one for one in self.kept if one.source == source.key}
        batch = source.ask(self.spots, before, self.now_utc_s, self.chance, client, wait.times if wait else 0)
        self._take(source, batch, before)
        return self.spots[0].key in batch.kept

    def outcome(self, source: Source | None, fresh: bool) -> Outcome:
        """Return what is known from one source, or from none."""
        held = {one.spot: one for one in (*self.kept, *self.to_keep) if source and one.source == source.key}
        forecasts = tuple(_read(source, held.get(spot.key)) for spot in self.spots)
        if source and forecasts[0]:
            self.words.insert(0, f"{forecasts[0].attribution}: {forecasts[0].age_words(self.now_utc_s)}.")
            old = sum(one is not None and one.fetched_utc_s < forecasts[0].fetched_utc_s - 3 * HOUR_S for one in forecasts)
            self.words += [f"For {old} of {len(self.spots)} places an older one that was kept is used."] if old else []
        missing = sum(one is None for one in forecasts)
        if source and missing:
            self.words.append(f"For {missing} of {len(self.spots)} places it gives nothing.")
        return Outcome(
            forecasts, tuple(self.words), tuple(self.to_keep), tuple(self.waits.values()), fresh, self.clock_ahead_s
        )

    def last_kept(self, sources: Sequence[Source]) -> Outcome:
        """Return the newest that was kept of any source, told to be old, or nothing."""
        of_first = [one for one in self.kept if one.spot == self.spots[0].key]
        for one in sorted(of_first, key=lambda one: one.fetched_utc_s, reverse=True):
            source = next((source for source in sources if source.key == one.source), None)
            if _read(source, one):
                self.words.append("The last forecast that was kept is used.")
                return self.outcome(source, False)
        self.words.append(NOTHING)
        return self.outcome(None, False)

    def _take(self, source: Source, batch: Batch, before: dict[str, Kept]) -> None:
        self.to_keep += [one for key, one in batch.kept.items() if one != before.get(key)]
        self.words += batch.notes + ([batch.fault] if batch.fault else [])
        self.clock_ahead_s = self.clock_ahead_s if batch.clock_ahead_s is None else batch.clock_ahead_s
        self.waits.pop(source.key, None)
        if batch.wait:
            self.waits[source.key] = batch.wait


def _read(source: Source | None, kept: Kept | None) -> Forecast | None:
    try:
        return source.read(kept) if source and kept else None
    except Unavailable:
        return None
