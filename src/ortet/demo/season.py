"""The demo season as the files that its grower would have: five tables, two loggers' records, one of the weather."""

import csv
from collections.abc import Iterable
from datetime import datetime, timedelta, timezone
from pathlib import Path
from zoneinfo import ZoneInfo

from .climate import BARN, CELLAR, Record, barn_fridge, cellar_fridge, weather
from .plants import MOTHERS, SITE, ZONE
from .readings import readings
from .wood import BAGS, LOTS

__all__ = ["SEED", "write"]

SEED = 1702
STANDARD = timezone(timedelta(hours=1))  # the weather station's clock is not changed in summer


def write(folder: Path) -> list[Path]:
    """Write the season's files into a folder, the same bytes every time; return them."""
    folder.mkdir(parents=True, exist_ok=True)
    cellar, barn = cellar_fridge(SEED), barn_fridge(SEED)
    weights, looks = readings(SEED, cellar, barn)
    return [
        _table(
            folder / "mothers.csv",
            "accession,variety,species,source,site,health,note",
            ((m.accession, m.variety, m.species, m.source, SITE, m.health, m.note) for m in MOTHERS),
        ),
        _table(
            folder / "lots.csv",
            "lot,accession,taken,count,use,grade,length_mm,base_mm,tip_mm,nodes",
            (
                (
                    lot.mark,
                    lot.accession,
                    _wall(lot.taken),
                    lot.count,
                    lot.use,
                    lot.grade,
                    lot.cutting.length_mm,
                    lot.cutting.base_mm,
                    lot.cutting.tip_mm,
                    lot.cutting.nodes,
                )
                for lot in LOTS
            ),
        ),
        _table(
            folder / "bags.csv",
            "bag,lot,count,bagged,store,polymer,thickness_um,layers,width_mm,height_mm,closure,packing,packing_water_g,tare_g",
            (
                (
                    bag.name,
                    lot,
                    count,
                    _wall(bag.closed),
                    bag.store,
                    bag.polymer,
                    f"{bag.thickness_um:g}",
                    bag.layers,
                    f"{bag.width_mm:g}",
                    f"{bag.height_mm:g}",
                    bag.closure,
                    bag.packing,
                    f"{bag.packing_water_g:g}",
                    bag.tare_g,
                )
                for bag in BAGS
                for lot, count in bag.contents
            ),
        ),
        _table(
            folder / "weighings.csv",
            "bag,at,gross_g",
            ((weight.bag, _wall(weight.at), f"{weight.gross_g:.1f}") for weight in weights),
        ),
        _table(
            folder / "inspections.csv",
            "bag,lot,at,sound,mouldy,dry,scratch_green,scratch_of,callus,free_water",
            (
                (
                    look.bag,
                    look.lot,
                    _wall(look.at),
                    look.sound,
                    look.mouldy,
                    look.dry,
                    look.scratch_green,
                    look.scratch_of,
                    look.callus,
                    look.free_water,
                )
                for look in looks
            ),
        ),
        _cellar_logger(folder / f"{_stem(CELLAR)}.csv", cellar),
        _barn_logger(folder / f"{_stem(BARN)}.csv", barn),
        _weather_station(folder / f"{_stem(SITE)}.csv", weather(SEED)),
    ]


def _stem(place: str) -> str:
    return place.lower().replace(" ", "_")


def _wall(at: datetime) -> str:
    return f"{at.astimezone(ZoneInfo(ZONE)):%Y-%m-%d %H:%M}"


def _table(path: Path, header: str, rows: Iterable[Iterable[object]]) -> Path:
    with path.open("w", encoding="utf-8", newline="") as file:
        out = csv.writer(file)  # RFC 4180
        out.writerow(header.split(","))
        out.writerows(rows)
    return path


def _text(path: Path, lines: Iterable[str], encoding: str = "utf-8") -> Path:
    path.write_bytes(("\r\n".join(lines) + "\r\n").encode(encoding))
    return path


def _cellar_logger(path: Path, record: Record) -> Path:
    """Semicolons, decimal comma, day before month, four lines above the header, a byte-order mark."""
    lines = ["Record of a temperature and humidity logger", "Number;0417", "Interval;60 min", "",
             "No.;Date;Time;Temperature [°C];Humidity [%RH];Battery [V]"]  # fmt: skip
    for i in range(len(record.air_c)):
        at = record.at(i).astimezone(ZoneInfo(ZONE))
        air, damp = (
            f"{record.air_c[i]:.1f}".replace(".", ","),
            f"{100 * record.humidity[i]:.1f}".replace(".", ","),
        )
        lines.append(f"{i + 1};{at:%d.%m.%Y};{at:%H:%M:%S};{air};{damp};3,{6 - i // 1500}")
    return _text(path, lines, "utf-8-sig")


def _barn_logger(path: Path, record: Record) -> Path:
    """Commas, ISO times in UTC, every ten minutes; nothing while its battery was flat."""
    lines = ["Timestamp (UTC),Temperature (°C),Relative humidity (%)"]
    lines += [
        f"{record.at(i):%Y-%m-%d %H:%M:%S},{record.air_c[i]:.2f},{100 * record.humidity[i]:.1f}"
        for i in range(len(record.air_c))
        if record.seen[i]
    ]
    return _text(path, lines)


def _weather_station(path: Path, record: Record) -> Path:
    """Commas, hourly, standard time all year."""
    lines = ["Time (UTC+01:00),Air temperature (°C),Relative humidity (%),Wind speed (m/s)"]
    lines += [
        f"{record.at(i).astimezone(STANDARD):%Y-%m-%d %H:%M},{record.air_c[i]:.1f},{100 * record.humidity[i]:.0f},"
        f"{1.2 + 0.11 * abs(record.air_c[i] - record.air_c[i - 1]) * 10:.1f}"
        for i in range(len(record.air_c))
    ]
    return _text(path, lines)
