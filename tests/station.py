"""A year of one station's hours, as pvlib packages it: real weather to plan slabs in."""

from dataclasses import replace
from datetime import UTC, timedelta
from functools import cache
from pathlib import Path
from typing import Any

import pvlib

from scheduling.engine.inputs import Place, WeatherHour

GREENSBORO = Place(latitude=36.1, longitude=-79.95)
GREENSBORO_FILE = Path(pvlib.__file__).parent / "data" / "723170TYA.CSV"
YEAR = 2025
HOURS = 8760
RUN_ON = 96  # hours of January again after December, so that the last starts have weather to set in


@cache
def greensboro() -> tuple[WeatherHour, ...]:
    """Typical hours at Greensboro, North Carolina (TMY3), as one year; and four days of January again."""
    table, _ = pvlib.iotools.read_tmy3(GREENSBORO_FILE, coerce_year=YEAR, map_variables=True)
    columns = ("temp_air", "temp_dew", "relative_humidity", "wind_speed", "TotCld (tenths)", "ghi")
    rows = table[list(columns)].to_numpy(dtype=float)
    first = table.index[0].to_pydatetime().astimezone(UTC)
    hours = [_hour(first + timedelta(hours=n), row) for n, row in enumerate(rows)]
    again = (replace(hour, at=hour.at + timedelta(hours=HOURS)) for hour in hours[:RUN_ON])
    return (*hours, *again)


def _hour(at: Any, row: Any) -> WeatherHour:
    air_c, dew_point_c, humidity, wind, cloud, sun = (float(value) for value in row)
    return WeatherHour(
        at=at,
        air_c=air_c,
        dew_point_c=dew_point_c,
        humidity=humidity / 100,
        wind_10m_m_s=wind,
        cloud=cloud / 10,
        sun_w_m2=sun,
        rain_chance=0.0,
    )
