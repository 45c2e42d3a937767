"""What is read at each site: site cards print it, filled cards are compared with it."""

from collections import Counter
from collections.abc import Iterator
from typing import Any

from backhaul.budgets import readings_light, readings_radio, readings_wired
from backhaul.budgets.cable_runs import cable_runs
from backhaul.budgets.reading_keys import key_text
from backhaul.budgets.site_index import SiteIndex
from backhaul.budgets.site_reading import SiteReading


def readings_of(results: Any) -> dict[str | None, list[SiteReading]]:
    """What is read at every site, in the order of its card; None: what stands at no site."""
    index = SiteIndex(results, cable_runs(results))
    return {site: site_readings(index, site) for site in list(index.at)}


def site_readings(index: SiteIndex, site: str | None) -> list[SiteReading]:
    """What is read at one site, in the order of its card; each key once."""
    found = [
        *readings_light.at_site(index, site),
        *readings_radio.at_site(index, site),
        *readings_wired.at_site(index, site),
    ]
    return list(_each_key_once(found))


def _each_key_once(readings: list[SiteReading]) -> Iterator[SiteReading]:
    seen: Counter = Counter()
    for reading in readings:
        seen[reading.key] += 1
        number = seen[reading.key]
        key = reading.key if number == 1 else key_text(reading.key, str(number))
        yield reading._replace(key=key)
