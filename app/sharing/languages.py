"""The languages a sheet speaks: catalogues of sentences, and the clocks and dates of CLDR.

The catalogues lie beside this file in ``languages/``, one a language, and are compiled
in memory when first asked for. The sentences speak as the photographer, to two people
at once: German says ihr, French vous, Italian voi, Portuguese vocês, Tagalog kayo, which
to a couple are plural rather than stiff. Spanish would have to choose between vosotros
and ustedes, so it says what it has to without naming the couple. No sentence needs to know
whether the two are women or men. The six translations still wait for a native reader.
"""

import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from functools import lru_cache
from gettext import GNUTranslations
from io import BytesIO
from pathlib import Path

from babel import Locale
from babel.core import UnknownLocaleError
from babel.dates import format_date, format_time, get_timezone_name
from babel.lists import format_list
from babel.messages.catalog import Catalog
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po

from app.errors import BadInput
from app.place.timezone import local_time

CATALOGUES = Path(__file__).with_name("languages")

# Which catalogue each language has, and whose dates and clocks it takes where no region
# was named. CLDR keeps Tagalog under Filipino.
LANGUAGES = {"en": "en_GB", "es": "es", "fr": "fr", "de": "de", "it": "it", "pt": "pt", "tl": "fil_PH"}
NEAR_DAYS = 6  # so near, a weekday alone names a day
ISOLATE, POP = "\u2068", "\u2069"  # first strong isolate, pop directional isolate: UAX #9
RIGHT_TO_LEFT = {"R", "AL", "AN"}


@dataclass(frozen=True)
class Tongue:
    """One language, with the habits of one region. Made by ``tongue``.

    ``tag`` is for the ``lang`` of a page. Instants come as seconds since 1970, UTC,
    and are told by the clocks of a named zone.
    """

    tag: str
    locale: Locale = field(repr=False)
    sentences: GNUTranslations = field(repr=False)

    def say(self, message: str, /, **values: object) -> str:
        """Return a sentence in this language, its braces filled with values."""
        return self.sentences.gettext(message).format(**_isolated(values))

    def count(self, one: str, many: str, number: int, /, **values: object) -> str:
        """Return a sentence about a number of things, ``{count}`` in it being the number."""
        return self.sentences.ngettext(one, many, number).format(count=number, **_isolated(values))

    def items(self, texts: Sequence[str]) -> str:
        """Return things side by side: “a, b and c”."""
        return format_list([isolated(text) for text in texts], locale=self.locale)

    def date(self, day: date) -> str:
        """Return the whole date: “Saturday, 18 September 2027”."""
        return format_date(day, "full", self.locale)

    def clock(self, utc_s: float, zone: str) -> str:
        """Return hours and minutes, to the nearest minute; with the offset where clocks show them twice."""
        at = self._local(utc_s, zone)
        shown = format_time(at, "short", at.tzinfo, self.locale)
        return f"{shown} ({offset_words(at)})" if _shown_twice(at) else shown

    def clock_on(self, utc_s: float, zone: str, day: date) -> str:
        """Return hours and minutes, with the weekday where that is not the day's own."""
        at = self._local(utc_s, zone)
        shown = self.clock(utc_s, zone)
        return shown if at.date() == day else f"{shown} ({self._weekday(at.date(), day)})"

    def span(self, starts_utc_s: float, ends_utc_s: float, zone: str, day: date) -> str:
        """Return “17:30 to 17:55”, with weekdays where they are not the day's own."""
        start, end = (self.clock_on(utc_s, zone, day) for utc_s in (starts_utc_s, ends_utc_s))
        return self.say("{start} to {end}", start=start, end=end)

    def moment(self, utc_s: float, zone: str, near: date) -> str:
        """Return “Saturday, 08:10”, or the date with it where it is not near that day."""
        at = self._local(utc_s, zone)
        glue = self.locale.datetime_formats["short"]
        return glue.format(self.clock(utc_s, zone), self._weekday(at.date(), near))

    def zone(self, utc_s: float, zone: str) -> str:
        """Return what the clocks keep at an instant: “British Summer Time, UTC+1”."""
        at = self._local(utc_s, zone)
        name = get_timezone_name(at, "long", locale=self.locale)
        return f"{name}, {offset_words(at)}"

    def _local(self, utc_s: float, zone: str) -> datetime:
        return local_time(round(utc_s / 60) * 60, zone)

    def _weekday(self, day: date, near: date) -> str:
        if abs((day - near).days) > NEAR_DAYS:
            return format_date(day, "long", self.locale)
        return self.locale.days["format"]["wide"][day.weekday()]


def tongue(tag: str) -> Tongue:
    """Return the language of a tag like ``es``, ``en-US`` or ``pt-PT`` (BCP 47).

    Raises
    ------
    BadInput
        For a language without a catalogue, or a region that CLDR does not know with it.
    """
    language = tag.replace("_", "-").split("-")[0].lower()
    if language not in LANGUAGES:
        known = ", ".join(LANGUAGES)
        raise BadInput(f"“{tag[:40]}” is no language of the sheets; they speak {known}.", "language")
    return Tongue(tag.replace("_", "-"), _locale(tag, language), _sentences(language))


def names_of_languages() -> dict[str, str]:
    """Return what each language calls itself, by its tag, for a form to choose from."""
    return {tag: Locale.parse(locale).languages[tag].capitalize() for tag, locale in LANGUAGES.items()}


def isolated(text: str) -> str:
    """Return a text that its neighbours cannot turn around, marked only where it runs right to left."""
    turns = any(unicodedata.bidirectional(letter) in RIGHT_TO_LEFT for letter in text)
    return f"{ISOLATE}{text}{POP}" if turns else text


def offset_words(at: datetime) -> str:
    """Return how far clocks are from UTC: “UTC+1”, “UTC-3:30”, “UTC”."""
    minutes = round(at.utcoffset() / timedelta(minutes=1))
    hours, rest = divmod(abs(minutes), 60)
    shown = f"{hours}:{rest:02d}" if rest else f"{hours}"
    return f"UTC{'+' if minutes > 0 else '-'}{shown}" if minutes else "UTC"


def catalogue(language: str) -> Catalog:
    """Return the sentences of a language as they are kept, for tests and for those who mend them."""
    with (CATALOGUES / f"{language}.po").open("rb") as file:
        return read_po(file, locale=Locale.parse(LANGUAGES[language]), abort_invalid=True)


@lru_cache
def _sentences(language: str) -> GNUTranslations:
    compiled = BytesIO()
    write_mo(compiled, catalogue(language))
    compiled.seek(0)
    return GNUTranslations(compiled)


@lru_cache
def _locale(tag: str, language: str) -> Locale:
    if tag.lower() == language:
        return Locale.parse(LANGUAGES[language])
    name = f"fil{tag[2:]}" if language == "tl" else tag
    try:
        return Locale.parse(name.replace("-", "_"))
    except (UnknownLocaleError, ValueError):
        raise BadInput(f"“{tag[:40]}” names no region whose dates are known.", "language") from None


def _isolated(values: dict[str, object]) -> dict[str, object]:
    return {name: isolated(value) if isinstance(value, str) else value for name, value in values.items()}


def _shown_twice(at: datetime) -> bool:
    return at.replace(fold=1 - at.fold).utcoffset() != at.utcoffset()
