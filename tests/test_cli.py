"""The command line: what each command prints, and one line with exit code 2 for every fault."""

import csv
import io
import json
import re
import subprocess
import sys
import zipfile
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from app.cli import main
from app.storage.store import Store
from app.web.passphrase import is_right
from tests.reference_data import FOLDER, rows

ROOT = Path(__file__).parent.parent
DEMO = ROOT / "demo_sites"
BOATHOUSE = str(DEMO / "merrowmere-boathouse.geojson")
SUN = ["sun", "--lat", "54.57", "--lon", "-3.13", "--at", "2027-09-18T18:40+01:00"]
UT1_DEG = 0.003  # 0.7 s of UT1 - UTC, the most in 2020-2040, while UT1 is taken as UTC
LONGEST_WAIT_S = 30  # for a start on a busy machine

Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def run(capsys, tmp_path, monkeypatch) -> Run:
    """Run a command here, on a data folder of its own; give its code, output and errors."""
    monkeypatch.setenv("WESTERING_DATA", str(tmp_path / "data"))

    def once(*arguments: str) -> tuple[int, str, str]:
        code = main(arguments)
        return code, *capsys.readouterr()

    return once


def refused(told: tuple[int, str, str]) -> str:
    """The one line in which a command was refused."""
    code, out, error = told
    assert (code, out) == (2, "")
    assert re.fullmatch(r"westering: [^\n]+\n", error)
    return error


def in_a_shell(*arguments: str, **options: object) -> subprocess.CompletedProcess[str]:
    whole = [sys.executable, "-m", "app.cli", *arguments]
    ways = {"capture_output": True, "text": True, "encoding": "utf-8", "timeout": LONGEST_WAIT_S}
    return subprocess.run(whole, check=False, cwd=ROOT, **ways, **options)


# The sun


def test_sun_in_words_and_as_json(run):
    code, out, error = run(*SUN, "--height", "200")
    assert (code, error) == (0, "")
    lines = out.splitlines()
    assert lines[0] == "The sun at 54.570000°, -3.130000°, 200 m above the sea, 2027-09-18T17:40:00Z"
    told = json.loads(run(*SUN, "--height", "200", "--json")[1])
    assert list(told)[:3] == ["lat_deg", "lon_deg", "height_m"] and told["height_m"] == 200
    assert lines[1].split()[1] == f"{told['azimuth_deg']:.4f}°" and lines[2].split()[1] == f"{told['altitude_deg']:.4f}°"


@pytest.mark.parametrize("lon", ["-3.13", "-3,13", "-.313e1", "\N{MINUS SIGN}3.13"])
def test_a_negative_number_is_no_option(run, lon):
    told = json.loads(run("sun", "--lat", "54.57", "--lon", lon, "--at", "2027-09-18T17:40Z", "--json")[1])
    assert told["lon_deg"] == -3.13


def test_sun_against_a_compass_bearing(run):
    told = json.loads(run(*SUN, "--bearing", "265", "--magnetic", "--json")[1])
    assert told["bearing_deg"] == pytest.approx(265 + told["declination_deg"], abs=1e-4) and told["declination_deg"] != 0
    assert told["backlight_deg"] == pytest.approx(told["azimuth_deg"] - told["bearing_deg"], abs=1e-5)
    assert len(told["crosses_line"]) == 1


def test_sun_loads_nothing_heavy():
    """A quick answer needs the track, numpy and nothing else."""
    heavy = ["fastapi", "sqlalchemy", "pvlib", "pandas", "scipy", "shapely", "astral", "tzfpy", "pygeomag", "jinja2"]
    words = f"import sys; from app.cli import main; main({SUN!r}); print([n for n in {heavy!r} if n in sys.modules])"
    done = subprocess.run([sys.executable, "-c", words], check=False, cwd=ROOT, capture_output=True, text=True, timeout=LONGEST_WAIT_S)
    assert done.stderr == "" and done.stdout.splitlines()[-1] == "[]"


def test_sun_for_a_table_of_reference_positions(run):
    """skyfield with DE421: all 60 rows; every column of theirs passes through."""
    code, out, error = run("sun", "--csv", str(FOLDER / "sun-positions.csv"))
    assert (code, error) == (0, "")
    header, *answered = csv.reader(io.StringIO(out))
    given = rows("sun-positions")
    assert header == [*given[0], "azimuth_deg", "altitude_deg", "refracted_altitude_deg"]
    assert len(answered) == len(given) == 60
    for row, expected in zip(answered, given, strict=True):
        assert row[:-3] == list(expected.values())
        azimuth, altitude, seen = map(float, row[-3:])
        assert altitude == pytest.approx(float(expected["alt_airless_deg"]), abs=UT1_DEG)
        turn = (azimuth - float(expected["azimuth_deg"]) + 180) % 360 - 180
        assert abs(turn) * np.cos(np.radians(altitude)) < UT1_DEG
        if expected["refracted_alt_is_model_dependent"] == "no":
            fits_apart_deg = 3.9 / 3600  # Bennett's against Saemundsson's refraction
            assert seen == pytest.approx(float(expected["alt_refracted_1010mb_10C_deg"]), abs=UT1_DEG + fits_apart_deg)


def test_a_table_from_a_pipe_with_a_bad_row():
    table = [
        "id,lat_deg,lon_deg,elev_m,utc", "1,54.57,-3.13,200,2027-09-18T17:40Z", "ä,95,-3.13,200,2027-09-18T17:40Z",
        "3,0,0,0,2027-09-18T12:00Z",
    ]  # fmt: skip
    done = in_a_shell("sun", "--csv", "-", input="\n".join(table))
    assert done.returncode == 2
    assert done.stderr == "westering: line 3: lat_deg is between -90 and 90; 95 came.\n"
    lines = done.stdout.splitlines()
    assert len(lines) == 4 and lines[2] == "ä,95,-3.13,200,2027-09-18T17:40Z,,,"
    assert lines[1].startswith("1,54.57,-3.13,200,2027-09-18T17:40Z,265.5795") and lines[3].count(",") == 7


def test_the_air_of_a_table_can_be_given(run, tmp_path):
    table = tmp_path / "cases.csv"
    table.write_text("lat_deg,lon_deg,elev_m,utc\n54.57,-3.13,200,2027-09-18T17:40Z\n")
    lifts = []
    for air in ([], ["--pressure", "1010", "--temperature", "10"], ["--pressure", "505"], ["--temperature", "-30"]):
        *_, altitude, seen = run("sun", "--csv", str(table), *air)[1].splitlines()[1].split(",")
        lifts.append(float(seen) - float(altitude))
    assert lifts[0] == lifts[1] and lifts[2] == pytest.approx(lifts[0] / 2, abs=2e-6)
    assert lifts[3] == pytest.approx(lifts[0] * 283 / 243, abs=2e-6)


def test_a_reader_that_has_seen_enough_is_no_fault(tmp_path):
    table = tmp_path / "many.csv"
    table.write_text("lat_deg,lon_deg,elev_m,utc\n" + "54.57,-3.13,200,2027-09-18T17:40Z\n" * 30_000)
    whole = f"{sys.executable} -m app.cli sun --csv {table} | head -n 1"
    done = subprocess.run(whole, check=False, shell=True, cwd=ROOT, capture_output=True, text=True, timeout=LONGEST_WAIT_S)
    assert done.stderr == "" and done.stdout.count("\n") == 1


@pytest.mark.parametrize(("more", "words"), [
    (["--csv", "nowhere.csv"], "No such file or directory: nowhere.csv"),
    (["--csv", str(FOLDER), ], "Is a directory"),
    (["--csv", str(FOLDER / "sun-events.csv")], "elev_m, utc is missing|elev_m is missing"),
    (["--csv", "-", "--lat", "3", "--json"], "leave out --lat, --json"),
    (["--csv", "-", "--pressure", "thick"], "The pressure in hPa is a number"),
])  # fmt: skip
def test_a_table_that_cannot_be_read_is_refused(run, more, words):
    assert re.search(words, refused(run("sun", *more)))


def test_a_table_that_is_no_text_is_refused(run, tmp_path):
    (tmp_path / "picture.csv").write_bytes(b"\x89PNG\r\n\x1a\n\xff\xfe")
    assert "not written in UTF-8" in refused(run("sun", "--csv", str(tmp_path / "picture.csv")))


# What cannot be used


@pytest.mark.parametrize(("arguments", "words"), [
    ([], "the following arguments are required: COMMAND"),
    (["sing"], "invalid choice: 'sing'"),
    (["sun"], "The latitude is missing"),
    (["sun", "--lat"], "--lat: expected one argument"),
    (["sun", "--latitude", "54"], "unrecognized arguments: --latitude 54"),
    (["sun", "--la", "54"], "unrecognized arguments: --la 54"),
    (["sun", "--lat", "fifty", "--lon", "3", "--at", "2027-09-18T18:40Z"], "“fifty” is none"),
    (["sun", "--lat", "-120", "--lon", "50", "--at", "2027-09-18T18:40Z"], "looks swapped"),
    (["sun", "--lat", "54", "--lon", "-300", "--at", "2027-09-18T18:40Z"], "A longitude lies between"),
    (["sun", "--lat", "54", "--lon", "3", "--at", "2027-09-18T18:40"], "has no offset"),
    (["sun", "--lat", "54", "--lon", "3", "--at", "2201-09-18T18:40Z"], "1950 to 2100"),
    (["sun", "--lat", "54", "--lon", "3\n4", "--at", "2027-09-18T18:40Z"], "“3 4” is none"),
    (["day", "--lat", "54", "--lon", "3", "--date", "18.9.2027"], "A date looks like 2027-09-18"),
    (["day", "--lat", "54", "--lon", "3", "--date", "1949-12-31"], "1950 to 2100"),
    (["day", "--lat", "54", "--lon", "3", "--date", "2027-09-18", "--tz", "Nowhere"], "no time zone"),
    (["day", "--lat", "54", "--lon", "3", "--date", "2027-09-18", "--eye-height", "-4"], "between 0 and 9000"),
    (["day", "--lat", "54", "--lon", "3", "--date", "2027-09-18", "--magnetic"], "give the bearing too"),
    (["windows"], "required: FILE.geojson"),
    (["windows", BOATHOUSE, "--date", "2027-09-18"], "The setup is missing"),
    (["windows", BOATHOUSE, "--setup", "Cellar", "--date", "2027-09-18"], "it has: “End of the jetty”"),
    (["windows", BOATHOUSE, "--setup", "End of the jetty"], "The date is missing"),
    (["windows", BOATHOUSE, "--setup", "End of the jetty", "--date", "2027-09-18", "--look", "sparkle"], "there are: "),
    (["windows", "nowhere.geojson", "--setup", "x", "--date", "2027-09-18"], "There is no file nowhere.geojson"),
    (["windows", str(DEMO), "--setup", "x", "--date", "2027-09-18"], "is a folder"),
    (["year", BOATHOUSE, "--setup", "End of the jetty", "--year", "2027"], "The look is missing"),
    (["year", BOATHOUSE, "--setup", "End of the jetty", "--year", "2101", "--look", "backlit"], "between 1950 and 2100"),
    (["import", "nowhere.geojson"], "There is no file"),
    (["export", "nowhere", "out.geojson"], "Nothing is kept in"),
    (["export", "one"], "“export SITE FILE” or as “export --all FILE.zip”"),
    (["export", "one", "two", "--all"], "“export SITE FILE” or as “export --all FILE.zip”"),
    (["backup", "out.sqlite"], "Nothing is kept in"),
    (["restore", "nowhere.sqlite"], "There is no file"),
    (["serve", "--port", "web"], "A port is a whole number"),
    (["serve", "--port", "65536"], "A port is a whole number"),
    (["serve", "--port", "-1"], "A port is a whole number"),
])  # fmt: skip
def test_a_fault_is_one_line_and_code_2(run, arguments, words):
    assert words in refused(run(*arguments))


def test_a_fault_is_one_line_in_a_shell_too():
    done = in_a_shell("sun", "--lat", "x")
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr == "westering: The latitude is a number; “x” is none.\n"


@pytest.mark.parametrize("command", [[], ["sun"], ["export"], ["demo"]])
def test_help_is_given(run, capsys, command):
    with pytest.raises(SystemExit) as stopped:
        run(*command, "--help")
    assert stopped.value.code == 0 and capsys.readouterr().out.startswith(" ".join(["usage: westering", *command]))


def site_with(**setup: object) -> str:
    """A small site file whose setup has these properties, or another geometry."""
    line = setup.pop("line", [[-3.13, 54.57], [-3.131, 54.57]])
    properties = {"role": "setup", "name": "Steps", **setup}
    feature = {"type": "Feature", "geometry": {"type": "LineString", "coordinates": line}, "properties": properties}
    return json.dumps({"type": "FeatureCollection", "name": "Garden", "features": [feature]})


@pytest.mark.parametrize(("text", "words"), [
    ("{", "garden.geojson: This is not JSON"),
    ("[]", "garden.geojson: A site file is a GeoJSON FeatureCollection"),
    (" " * 5_000_001, "garden.geojson: A site file has at most 5 MB"),
    (site_with(line=[[-3.13, 54.57], [-3.13, 54.57]]), "needs two different positions"),
    (site_with(line=[[-3.13, 54.57], [-3.13, 54.570001]]), "camera and couple stand less than 0.3 m apart"),
    (site_with(line=[[-3.13, 54.57], [-3.13, 99.0]]), "A latitude lies between"),
    (site_with(line=[[54.57, -3.13], [-3.13, 54.57]]), "km from the middle of the site"),
    (site_with(focal_length_mm=0), "Setup “Steps”: .*focal length"),
    (site_with(focal_length_mm="long"), "Setup “Steps”: The focal length is a number"),
    (site_with(looks=["sparkle"]), "There is no look “sparkle”"),
])  # fmt: skip
def test_a_broken_site_is_neither_answered_nor_kept(run, tmp_path, text, words):
    file = tmp_path / "garden.geojson"
    file.write_text(text)
    assert re.search(words, refused(run("windows", str(file), "--setup", "Steps", "--date", "2027-09-18")))
    assert re.search(words, refused(run("import", str(file))))
    with Store(tmp_path / "data" / "westering.sqlite") as store:
        assert store.sites() == ()


# Days, windows, years


def test_day_in_words_and_as_json(run):
    code, out, _ = run("day", "--lat", "69.65", "--lon", "18.96", "--date", "2026-06-21")
    assert code == 0 and out.splitlines()[0] == "Sun 21 June 2026 at 69.650000°, 18.960000°, by the clocks of Europe/Oslo"
    assert "--:--:--  sunset: none, the sun stays higher all day" in out
    told = json.loads(run("day", "--lat", "69.65", "--lon", "18.96", "--date", "2026-06-21", "--json")[1])
    sunset = next(event for event in told["events"] if event["event"] == "sunset")
    assert sunset == {"event": "sunset", "time_utc": None, "time_local": None, "azimuth_deg": None, "status": "always_above"}
    winter = json.loads(run("day", "--lat", "69.65", "--lon", "18.96", "--date", "2026-12-21", "--json")[1])
    assert {event["status"] for event in winter["events"] if event["event"] in ("sunrise", "sunset")} == {"always_below"}


def test_windows_and_year_in_words(run):
    code, out, _ = run("windows", BOATHOUSE, "--setup", "End of the jetty", "--date", "2027-09-18", "--look", "backlit")
    assert code == 0 and re.search(r"^backlit: 17:5\d:\d\d to 18:\d\d:\d\d \(best .*Closes: behind the ridge\.$", out, re.MULTILINE)
    code, out, _ = run("year", BOATHOUSE, "--setup", "End of the jetty", "--year", "2027", "--look", "backlit")
    assert code == 0 and re.search(r"^Sat 18 Sep  backlit: 17:5", out, re.MULTILINE)


def test_elevation_files_hide_the_sun_on_the_command_line_too(run, tmp_path):
    heights = np.full((1201, 1201), 70)
    heights[:, :900] = 1100  # from 3.25° W on westwards
    (tmp_path / "N54W004.hgt").write_bytes(heights.astype(">i2").tobytes())
    asked = ["windows", BOATHOUSE, "--setup", "End of the jetty", "--date", "2027-09-18", "--look", "backlit", "--json"]
    closes = [
        json.loads(run(*asked, *more)[1])["windows"][0]["closes"] for more in ([], ["--terrain", str(tmp_path / "N54W004.hgt")])
    ]
    assert closes[1] < closes[0]
    assert "There is no file gone.hgt" in refused(run(*asked, "--terrain", "gone.hgt"))


def test_light_in_words_and_as_json(run):
    asked = ["light", BOATHOUSE, "--setup", "End of the jetty", "--date", "2027-09-18"]
    code, out, _ = run(*asked)
    assert code == 0 and "Made for faces right" in out and re.search(r"^18:50  sun +4\.0°  sky .* f/2\.8, 1/125 s, ISO", out, re.MULTILINE)
    told = json.loads(run(*asked, "--json")[1])
    assert told["moments"][0]["face_ev100"] > told["moments"][-1]["face_ev100"] and told["moments"][0]["flash"] is None
    assert len(told["moments"][0]["face_lux"]) == 2 and json.loads(run(*asked, "--part", "morning", "--json")[1])["part"] == "morning"
    assert "evening or morning" in refused(run(*asked, "--part", "noon"))


# Files in and out


def test_a_site_goes_in_and_comes_out_the_same(run, tmp_path):
    assert run("import", BOATHOUSE) == (0, "“Merrowmere boathouse” is kept as merrowmere-boathouse.\n", "")
    for wanted in ("merrowmere-boathouse", "Merrowmere boathouse"):
        out = tmp_path / f"{wanted}.geojson"
        assert run("export", wanted, str(out))[0] == 0
        assert out.read_bytes() == Path(BOATHOUSE).read_bytes()
    assert "is there already and was left alone" in refused(run("export", "merrowmere-boathouse", str(out)))
    assert run("export", "merrowmere-boathouse", str(out), "--overwrite")[0] == 0
    assert "there are: merrowmere-boathouse" in refused(run("export", "elsewhere", str(tmp_path / "x")))
    assert "There is no folder" in refused(run("export", "merrowmere-boathouse", str(tmp_path / "no" / "x")))
    assert not list(tmp_path.glob(".*"))


def test_all_sites_go_out_in_one_file_and_in_again_elsewhere(run, tmp_path):
    for path in sorted(DEMO.glob("*.geojson")):
        run("import", str(path))
    packed = tmp_path / "all.zip"
    assert run("export", "--all", str(packed)) == (0, f"4 sites written to {packed}.\n", "")
    with zipfile.ZipFile(packed) as files:
        assert all(files.read(name) == (DEMO / name).read_bytes() for name in files.namelist()) and len(files.namelist()) == 4
    code, out, _ = run("import", str(packed), "--data", str(tmp_path / "elsewhere"))
    assert code == 0 and out.count(" is kept as ") == 4


@pytest.mark.parametrize(("content", "words"), [
    ({}, "has 0"), ({"a.txt": "x"}, "has 0"), ({"0.geojson": site_with(), "a.geojson": "{"}, "a.geojson: This is not JSON"),
])  # fmt: skip
def test_a_zip_file_is_kept_whole_or_not_at_all(run, tmp_path, content, words):
    packed = tmp_path / "some.zip"
    with zipfile.ZipFile(packed, "w") as files:
        for name, text in content.items():
            files.writestr(name, text)
    assert words in refused(run("import", str(packed)))
    with Store(tmp_path / "data" / "westering.sqlite") as store:
        assert store.sites() == ()


def test_backup_and_restore_bring_everything_back(run, tmp_path):
    run("import", BOATHOUSE)
    kept = tmp_path / "kept.sqlite"
    assert run("backup", str(kept)) == (0, f"Everything is in {kept}.\n", "")
    assert "was left alone" in refused(run("backup", str(kept)))
    with Store(tmp_path / "data" / "westering.sqlite") as store:
        store.delete_site("merrowmere-boathouse", 1)
        assert "is running on" in refused(run("restore", str(kept)))  # an open store is what a server has
    code, out, _ = run("restore", str(kept))
    assert code == 0 and "What was kept before is in " in out
    with Store(tmp_path / "data" / "westering.sqlite") as store:
        assert [site.slug for site in store.sites()] == ["merrowmere-boathouse"]


def test_what_is_no_backup_is_not_restored(run, tmp_path):
    assert "not a database" in refused(run("restore", BOATHOUSE))


# The owner's door


def test_nothing_listens_to_others_without_a_passphrase(run):
    assert "no passphrase is set" in refused(run("serve", "--host", "0.0.0.0", "--port", "0"))
    assert "is not an address of this machine" in refused(run("serve", "--host", "192.0.2.1", "--port", "0"))
    assert "There is no address “nowhere.invalid”" in refused(run("serve", "--host", "nowhere.invalid", "--port", "0"))


def test_https_needs_certificate_and_key(run):
    assert "give both --tls-cert and --tls-key" in refused(run("serve", "--tls-cert", "x.pem"))
    assert "No such file" in refused(run("serve", "--tls-cert", "no.pem", "--tls-key", "no.key", "--port", "0"))


def test_a_proxy_needs_a_passphrase_too(run, monkeypatch):
    monkeypatch.setenv("WESTERING_PROXIED", "yes")
    assert "no passphrase is set" in refused(run("serve", "--port", "0"))


def test_a_passphrase_is_piped_in_kept_hashed_and_taken_away(run, monkeypatch, tmp_path):
    monkeypatch.setattr("sys.stdin", io.StringIO("three herons by the weir\n"))
    assert run("passphrase")[:2] == (0, "The passphrase is set. Whoever was in must give it again.\n")
    with Store(tmp_path / "data" / "westering.sqlite") as store:
        assert is_right("three herons by the weir", store.door.passphrase_hash())
    monkeypatch.setattr("sys.stdin", io.StringIO("short\n"))
    assert "12 to 1000 characters" in refused(run("passphrase"))
    assert run("passphrase", "--remove")[0] == 0
    assert "no passphrase is set" in refused(run("serve", "--host", "0.0.0.0", "--port", "0"))
