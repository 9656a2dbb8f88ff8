"""The sun for every row of a CSV table: each row comes back with three columns more."""

import csv
import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import islice

import numpy as np

from app.errors import BadInput
from app.sky.many import sun_at_places
from app.sky.refraction import refraction_deg
from app.units import instant, number

READ = ("lat_deg", "lon_deg", "elev_m", "utc")
ADDED = ("azimuth_deg", "altitude_deg", "refracted_altitude_deg")
AT_ONCE = 20_000  # rows worked on together, so that a long table needs little memory
NO_OFFSET = re.compile(r"[T ]\d{2}:\d{2}(:\d{2}([.,]\d+)?)?$")

Row = list[str]
Case = tuple[float, float, float, float]  # latitude, longitude, height, seconds since 1970 UTC


@dataclass(frozen=True)
class Table:
    """How a table is read: where its columns are, in what air, and who hears of bad rows."""

    header: Row
    pressure_hpa: float
    temperature_c: float
    complain: Callable[[str], None]

    def __post_init__(self) -> None:
        missing = [name for name in READ if name not in self.columns]
        if missing:
            raise BadInput(f"The table's first line names its columns; {', '.join(missing)} is missing there.", "csv")

    @cached_property
    def columns(self) -> Row:
        """The header without the blanks that people put after commas."""
        return [name.strip() for name in self.header]

    def answered(self, numbered: Sequence[tuple[int, Row]]) -> Iterator[Row]:
        """Yield the rows with the sun added; a bad one is told of and gets nothing added."""
        cases = [self._case(line, row) for line, row in numbered]
        results = self._results([case for case in cases if case])
        for (_, row), case in zip(numbered, cases, strict=True):
            blank = [""] * (len(self.header) - len(row))
            yield [*row, *blank, *(next(results) if case else ("", "", ""))]

    def _case(self, line: int, row: Row) -> Case | None:
        try:
            return self._read(row)
        except (BadInput, ValueError) as error:
            self.complain(f"line {line}: {error}")
            return None

    def _read(self, row: Row) -> Case:
        if len(row) != len(self.header):
            raise BadInput(f"The first line names {len(self.header)} columns; {len(row)} are here.")
        lat, lon, height, utc = (row[self.columns.index(name)] for name in READ)
        return (
            number(lat, "lat_deg", -90, 90),
            number(lon, "lon_deg", -180, 180),
            number(height, "elev_m", -500, 9000),
            _utc_s(utc),
        )

    def _results(self, cases: list[Case]) -> Iterator[tuple[str, ...]]:
        if not cases:
            return iter(())
        azimuth_deg, airless_deg = sun_at_places(*np.array(cases).T)
        seen_deg = airless_deg + refraction_deg(airless_deg, self.pressure_hpa, self.temperature_c)
        columns = (map("{:.6f}".format, column.tolist()) for column in (azimuth_deg, airless_deg, seen_deg))
        return zip(*columns, strict=True)


def sun_rows(
    lines: Iterable[str], pressure_hpa: float, temperature_c: float, complain: Callable[[str], None]
) -> Iterator[Row]:
    """Yield the header and every row of a CSV table with the sun's place added.

    Parameters
    ----------
    lines : iterable of str
        The table; its columns lat_deg, lon_deg, elev_m and utc are read, in
        degrees, metres and ISO 8601, all others pass through. Empty lines go.
    pressure_hpa, temperature_c : float
        The air, for all rows. [hPa, °C]
    complain : function
        Is told of each bad row, by the number of its line; the others go on.
    """
    reader = csv.reader(lines)
    try:
        table = Table(next(reader, []), pressure_hpa, temperature_c, complain)
        yield [*table.header, *ADDED]
        numbered = ((reader.line_num, row) for row in reader if row)
        while some := list(islice(numbered, AT_ONCE)):
            yield from table.answered(some)
    except csv.Error as error:
        raise BadInput(f"line {reader.line_num}: this is no CSV: {error}.", "csv") from error
    except UnicodeDecodeError as error:
        raise BadInput("This table is not written in UTF-8; save it as UTF-8.", "csv") from error


def _utc_s(text: str) -> float:
    """Return seconds since 1970; a time without an offset is UTC here, for so the column is called."""
    typed = text.strip()
    return instant(f"{typed}Z" if NO_OFFSET.search(typed) else typed).timestamp()
