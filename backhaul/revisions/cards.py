"""Site cards that have to be printed again: something that stands on them changed."""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from typing import Any, NamedTuple

from backhaul.budgets.readings_radio import SET_ON_SITE
from backhaul.budgets.site_reading import SiteReading
from backhaul.budgets.site_readings import readings_of
from backhaul.checks.results import Results
from backhaul.design.columns import SITES
from backhaul.design.edits import written
from backhaul.findings import FAIL
from backhaul.path.links import RADIO
from backhaul.physics.geometry import magnetic_azimuth_deg

AGAIN, NEW, VOID = "print again", "new", "void"
#: Digits that a card prints of what it does not ask to be read.
_DIGITS = 2
#: Lines of many figures, told by their name alone.
_SETUP, _POWER = "set-up of", "power over"
_BARE = (_SETUP, _POWER)
_SENT = ("frequency_ghz", "tx_power_dbm", "eirp_dbm")
_HEARD = ("received_dbm", "received_chain_dbm", "reflection_loss_db")


class CardChange(NamedTuple):
    """A card to print again, a new one or one that is void, and why."""

    site: str
    what: str
    reasons: tuple[str, ...]


def card_changes(old: Results, new: Results, sites: Mapping[str, str]) -> list[CardChange]:
    """Cards that differ, in the order of the new design; sites: name in the old one -> in the new.

    What only tells the revision (title, date, digest) is no reason to print a card again.
    """
    before, after = _cards(old), _cards(new)
    back: dict[str | None, str | None] = {now: was for was, now in sites.items()}
    found = []
    for site, lines in after.items():
        was = back.get(site, site)
        if was not in before:
            found.append(CardChange(site or "", NEW, ()))
            continue
        reasons = list(_reasons(before[was], lines))
        if was != site:
            reasons.insert(0, f"was called {was}")
        if reasons:
            found.append(CardChange(site or "", AGAIN, tuple(reasons)))
    kept = {back.get(site, site) for site in after}
    found += [CardChange(site or "", VOID, ()) for site in before if site not in kept]
    return found


def _reasons(before: Mapping[str, str], after: Mapping[str, str]) -> Iterator[str]:
    for name in {**before, **after}:
        was, now = before.get(name), after.get(name)
        if was is None:
            yield f"{name}: new"
        elif now is None:
            yield f"{name}: gone"
        elif was != now:
            yield name if name.startswith(_BARE) else f"{name}: {_apart(was, now)}"


def _apart(was: str, now: str) -> str:
    """What two texts differ in, without the label that both begin with."""
    label = now.partition(": ")[0]
    if was.startswith(f"{label}: ") and now != label:
        was, now = was.removeprefix(f"{label}: "), now.removeprefix(f"{label}: ")
    return f"{was} → {now}"


def _cards(results: Results) -> dict[str | None, dict[str, str]]:
    """What each card says: a line's name -> its figures as printed."""
    cards: dict[str | None, dict[str, str]] = defaultdict(dict)
    for row in results.design.sites.values():
        cards[row.site] = {
            column.name: str(written(value))
            for column in SITES[1:]
            if (value := getattr(row, column.attribute)) is not None
        }
    for site, readings in readings_of(results).items():
        cards[site].update((reading.key, _limits(reading)) for reading in readings)
    for site, name, text in (*_rows(results), *_terminals(results), *_loads(results)):
        card = cards[site]
        card[name] = f"{card[name]}; {text}" if name in card else text
    return cards


def _limits(reading: SiteReading) -> str:
    figures = [
        f"{bound.value:.{bound.digits}f}" if bound.value == bound.value else "not known"
        for bound in reading.bounds.values()
    ]
    return f"{reading.label}: {' / '.join(figures)} {reading.unit}".strip().rstrip(":")


def _rows(results: Results) -> Iterator[tuple[str | None, str, str]]:
    """What stands, begins or ends at a site, as it is joined."""
    for row in sorted(results.design.segments, key=lambda row: (row.path, row.step)):
        places = results.network.places.get(row.id, (row.site, row.to_site))
        words = [row.part, row.to_part, row.port, row.to_port, row.by, row.count, row.antenna]
        words += [row.to_antenna, row.channel_mhz, row.polarization, row.diversity_m]
        words += [row.to_diversity_m, "/".join(row.strand), row.route]
        if row.length_m is not None:
            words.append(f"{row.length_m:g} m")
        words += [place for place in places if len(set(places)) > 1]
        text = " ".join(str(word) for word in words if word not in (None, ""))
        for site in dict.fromkeys(places):
            yield site, row.label or f"{row.kind} of {row.path[0]}", text


def _terminals(results: Results) -> Iterator[tuple[str | None, str, str]]:
    radio, modes = results.radio, results.radio.modes
    for link in results.network.links[RADIO]:
        row = link.rows[0]
        for end, equipment in enumerate((link.near, link.far)):
            if equipment is None:
                continue
            sent, heard = 2 * link.index + end, 2 * link.index + 1 - end
            # of a hop that fails nothing is set: its card says so in their place
            fails = results.link_verdict(link) == FAIL
            figures = [
                None if fails and name in SET_ON_SITE else radio.values[name][sent]
                for name in _SENT
            ]
            figures += [radio.values[name][heard] for name in _HEARD]
            hops = radio.hops
            azimuth = float((hops.to_azimuth_deg if end else hops.azimuth_deg)[link.index])
            site = row.to_site if end else row.site
            declination = getattr(results.design.sites.get(site), "declination_deg", None)
            if declination is not None:
                figures.append(
                    magnetic_azimuth_deg(azimuth_deg=azimuth, declination_deg=declination)
                )
            mode = int(results.performance.hops.mode[sent])
            text = " ".join(_printed(figure) for figure in figures)
            name = f"{_SETUP} {row.label or f'{link.paths[0]} {row.step:g}'}"
            in_use = "" if fails or mode < 0 else modes["name"][mode]
            yield site, name, f"{text} {in_use}".strip()


def _loads(results: Results) -> Iterator[tuple[str | None, str, str]]:
    """Watts of what is fed or feeds, fault currents: on the cards of both ends."""
    for line in results.power.lines:
        figures = [line.values.get(name) for name in ("load_w", "source_w", "short_circuit_a")]
        text = " ".join(_printed(figure) for figure in figures)
        for end in (line.source.equipment, *line.equipment):
            row = line.link.run
            name = f"{_POWER} {row.label or f'{line.link.paths[0]} {row.step:g}'}"
            yield end.site or results.network.places[end.segment.id][0], name, text


def _printed(figure: Any) -> str:
    value = float("nan") if figure is None else float(figure)
    return f"{value:.{_DIGITS}f}" if value == value else "?"
