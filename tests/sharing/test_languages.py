import string
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from babel import Locale
from babel.messages.extract import extract_from_dir, extract_from_file

from app.errors import BadInput
from app.sharing.labels import labels
from app.sharing.languages import CATALOGUES, LANGUAGES, catalogue, isolated, names_of_languages, tongue

ROOT = Path(__file__).parents[2]
SAYS = {"say": (1,), "count": (1, 2)}
DAY = date(2027, 9, 18)


def instant(*moment: int) -> float:
    return datetime(*moment, tzinfo=UTC).timestamp()


def said_in_the_code() -> set[str | tuple[str, str]]:
    from_code = extract_from_dir(ROOT / "app" / "sharing", [("**.py", "python")], keywords=SAYS)
    found = {message for _, _, message, _, _ in from_code}
    for page in (ROOT / "templates").glob("with*.html"):
        found |= {row[1] for row in extract_from_file("jinja2.ext:babel_extract", page, keywords=SAYS)}
    return found


def messages(language: str) -> dict:
    return {message.id: message for message in catalogue(language) if message.id}


def forms(text: str | tuple[str, ...]) -> tuple[str, ...]:
    return (text,) if isinstance(text, str) else tuple(text)


def placeholders(text: str) -> set[str]:
    return {name for _, name, _, _ in string.Formatter().parse(text) if name is not None}


def test_the_seven_languages_each_have_a_catalogue_and_no_other_lies_about():
    assert {path.stem for path in CATALOGUES.iterdir()} == set(LANGUAGES) == {"en", "es", "fr", "de", "it", "pt", "tl"}


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_catalogue_holds_what_the_code_says_and_nothing_else(language):
    assert set(messages(language)) == said_in_the_code()


@pytest.mark.parametrize("language", LANGUAGES)
def test_no_sentence_is_missing_fuzzy_or_short_of_a_plural(language):
    kept = catalogue(language)
    for message in messages(language).values():
        assert not message.fuzzy, message.id
        wanted = kept.num_plurals if message.pluralizable else 1
        assert len(forms(message.string)) == wanted, message.id
        assert all(form.strip() for form in forms(message.string)), message.id


@pytest.mark.parametrize("language", LANGUAGES)
def test_each_form_of_a_sentence_fills_the_same_braces(language):
    for message in messages(language).values():
        wanted = placeholders(forms(message.id)[-1])
        assert all(placeholders(form) == wanted for form in forms(message.string)), message.id


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_sentence_ends_as_its_english_does(language):
    # A full stop or colon lost in translation shows on the sheet where sentences run on.
    for message in messages(language).values():
        for form in forms(message.string):
            assert form.endswith(".") == forms(message.id)[0].endswith("."), message.id


def test_english_says_what_the_code_says():
    assert all(forms(message.id) == forms(message.string) for message in messages("en").values())


@pytest.mark.parametrize("language", [language for language in LANGUAGES if language != "en"])
def test_no_language_leaves_whole_sentences_in_english(language):
    # One word may be the same in two languages, like Crew; a sentence of three is not.
    same = [m.id for m in messages(language).values() if forms(m.id) == forms(m.string)]
    assert [text for text in same if len(forms(text)[0].split()) > 2 and placeholders(forms(text)[0]) == set()] == []


@pytest.mark.parametrize("language", LANGUAGES)
def test_plural_forms_follow_cldr(language):
    """Each category that CLDR gives to whole numbers below a million has one form of ours."""
    rule, chosen = Locale.parse(LANGUAGES[language]).plural_form, {}
    plural = tongue(language).sentences.plural
    for number in range(2000):
        chosen.setdefault(rule(number), set()).add(plural(number))
    assert all(len(indexes) == 1 for indexes in chosen.values())
    assert len(set.union(*chosen.values())) == len(chosen)


@pytest.mark.parametrize(
    "language, one, many",
    [
        ("en", "1 minute on foot.", "4 minutes on foot."),
        ("es", "1 minuto a pie.", "4 minutos a pie."),
        ("fr", "1 minute à pied.", "4 minutes à pied."),
        ("de", "1 Minute zu Fuß.", "4 Minuten zu Fuß."),
        ("it", "1 minuto a piedi.", "4 minuti a piedi."),
        ("pt", "1 minuto a pé.", "4 minutos a pé."),
        ("tl", "1 minutong lakad.", "4 na minutong lakad."),
    ],
)
def test_minutes_are_counted_in_each_language(language, one, many):
    speak = tongue(language)
    told = [speak.count("{count} minute on foot.", "{count} minutes on foot.", number) for number in (1, 4)]
    assert told == [one, many]


@pytest.mark.parametrize(
    "tag, day, clock",
    [
        ("en", "Saturday, 18 September 2027", "17:15"),
        ("en-US", "Saturday, September 18, 2027", "5:15\u202fPM"),
        ("es", "sábado, 18 de septiembre de 2027", "17:15"),
        ("fr", "samedi 18 septembre 2027", "17:15"),
        ("de", "Samstag, 18. September 2027", "17:15"),
        ("it", "sabato 18 settembre 2027", "17:15"),
        ("pt", "sábado, 18 de setembro de 2027", "17:15"),
        ("tl", "Sabado, Setyembre 18, 2027", "5:15\u202fPM"),
    ],
)
def test_dates_and_clocks_are_those_of_cldr(tag, day, clock):
    """Full dates and short times of CLDR 47, as Babel 2.18 carries it."""
    speak = tongue(tag)
    assert speak.date(DAY) == day
    assert speak.clock(instant(2027, 9, 18, 16, 15), "Europe/London") == clock


def test_a_clock_rounds_to_the_nearest_minute():
    assert tongue("en").clock(instant(2027, 9, 18, 16, 14, 30), "Europe/London") == "17:14"
    assert tongue("en").clock(instant(2027, 9, 18, 16, 14, 31), "Europe/London") == "17:15"


def test_an_hour_that_clocks_show_twice_says_which():
    """London put its clocks back on 31 October 2027 at 01:00 UTC: the tz database."""
    speak = tongue("en")
    assert speak.clock(instant(2027, 10, 31, 0, 30), "Europe/London") == "01:30 (UTC+1)"
    assert speak.clock(instant(2027, 10, 31, 1, 30), "Europe/London") == "01:30 (UTC)"
    assert speak.clock(instant(2027, 10, 31, 2, 30), "Europe/London") == "02:30"


def test_a_time_after_midnight_names_its_weekday():
    speak, zone = tongue("de"), "Europe/London"
    assert speak.span(instant(2027, 9, 18, 22, 50), instant(2027, 9, 18, 23, 10), zone, DAY) == (
        "23:50 bis 00:10 (Sonntag)"
    )


def test_a_moment_near_the_day_names_its_weekday_and_a_far_one_its_date():
    speak = tongue("en")
    assert speak.moment(instant(2027, 9, 18, 7, 10), "Europe/London", DAY) == "Saturday, 08:10"
    assert speak.moment(instant(2027, 9, 11, 7, 10), "Europe/London", DAY) == "11 September 2027, 08:10"


def test_a_zone_is_named_with_its_offset():
    assert tongue("es").zone(instant(2027, 9, 18), "Europe/London") == "hora de verano británica, UTC+1"
    assert tongue("en").zone(instant(2027, 9, 18), "Asia/Kathmandu").endswith("UTC+5:45")


def test_names_stand_side_by_side_as_the_language_does_it():
    assert tongue("fr").items(("Ines", "Tomasz")) == "Ines et Tomasz"
    assert tongue("en").items(("Ines",)) == "Ines"


def test_a_right_to_left_name_cannot_turn_the_sentence_around():
    assert isolated("Ines") == "Ines"
    assert tongue("en").say("Call {name}", name="נועה") == "Call \u2068נועה\u2069"


def test_braces_in_a_name_stay_braces():
    assert tongue("en").say("Call {name}", name="{0.__class__} {name}") == "Call {0.__class__} {name}"


def test_a_call_without_a_name_still_reads_well():
    assert (labels(tongue("it"), "Marlow").call, labels(tongue("it")).call) == ("Chiama Marlow", "Chiama")


def test_languages_are_listed_by_their_own_names():
    assert names_of_languages() == {
        "en": "English", "es": "Español", "fr": "Français", "de": "Deutsch", "it": "Italiano",
        "pt": "Português", "tl": "Tagalog",
    }  # fmt: skip


@pytest.mark.parametrize("tag", ["", "xx", "nl", "../en"])
def test_a_language_without_a_catalogue_is_refused_in_words(tag):
    with pytest.raises(BadInput, match="they speak en, es, fr, de, it, pt, tl"):
        tongue(tag)


@pytest.mark.parametrize("tag", ["en-QX", "en-../..", "tl-QX"])
def test_an_unknown_region_is_refused_in_words(tag):
    with pytest.raises(BadInput, match="names no region"):
        tongue(tag)
