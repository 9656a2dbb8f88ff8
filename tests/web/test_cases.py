"""Tables of places and instants: what is read, what is added, and what is said of bad rows."""

import pytest

from app.errors import BadInput
from app.web.answers.cases import sun_rows

UT1_DEG = 0.003  # 0.7 s of UT1 - UTC, the most in 2020-2040, while UT1 is taken as UTC
HEADER = "name,lat_deg,lon_deg,elev_m,utc"


def table(*lines: str) -> tuple[list[list[str]], list[str]]:
    complaints: list[str] = []
    return list(sun_rows([f"{line}\n" for line in lines], 1010, 10, complaints.append)), complaints


def test_a_bad_row_is_named_and_the_others_go_on():
    answered, complaints = table(
        HEADER,
        'first,54.57,-3.13,200,2027-09-18T17:40:00Z',
        '"bad, that one",here,-3.13,200,2027-09-18T17:40:00Z',
        "",
        'short,54.57',
        "late,54.57,-3.13,200,2101-09-18T17:40:00Z",
        "last,54.57,-3.13,200,2027-09-18 17:40",
    )
    assert answered[0] == [*HEADER.split(","), "azimuth_deg", "altitude_deg", "refracted_altitude_deg"]
    assert [row[0] for row in answered[1:]] == ["first", "bad, that one", "short", "late", "last"]
    assert answered[2][5:] == answered[3][5:] == answered[4][5:] == ["", "", ""]
    assert answered[1][5:] == answered[5][5:] and float(answered[1][5]) == pytest.approx(265.5795, abs=UT1_DEG)
    assert [complaint.split(":")[0] for complaint in complaints] == ["line 3", "line 5", "line 6"]
    assert "lat_deg is a number; “here” is none" in complaints[0] and "5 columns; 2 are here" in complaints[1]


def test_columns_may_stand_anywhere_with_blanks_around_their_names():
    answered, complaints = table("utc, elev_m ,x, lon_deg, lat_deg", "2027-09-18T17:40Z, 200,y, -3.13, 54.57")
    assert not complaints and float(answered[1][-2]) == pytest.approx(5.2850, abs=UT1_DEG)


@pytest.mark.parametrize(("header", "words"), [
    ("lat,lon", "lat_deg, lon_deg, elev_m, utc is missing"), ("", "lat_deg, lon_deg, elev_m, utc is missing"),
    ("lat_deg,lon_deg,utc", "elev_m is missing"),
])  # fmt: skip
def test_a_table_without_its_columns_is_refused(header, words):
    with pytest.raises(BadInput, match=words):
        table(header, "1,2")


def test_an_endless_field_is_refused_by_its_line():
    with pytest.raises(BadInput, match="line 2: this is no CSV: field larger"):
        table("lat_deg,lon_deg,elev_m,utc", "1" * 200_000)
