"""Do the two optics of a link belong together: rate, port, wavelength, strands."""

from collections import defaultdict
from collections.abc import Iterator
from typing import Any

from backhaul.budgets.orders import pieces_of
from backhaul.budgets.terminations import strand_name, strands_needed
from backhaul.checks.context import Context, on_link
from backhaul.design.kinds import KINDS
from backhaul.findings import FAIL, THIN, Finding
from backhaul.path.equipment import row_key
from backhaul.path.links import OPTICAL, Link
from backhaul.path.ports import cage_takes, lists_rate
from backhaul.physics.optics import OVERLAP_FULL, OVERLAP_NONE
from backhaul.wording import rate_text, window_text


def optics_speed(context: Context) -> Iterator[Finding]:
    """optics-speed: the two optics of a link run at different rates."""
    for link in context.network.links[OPTICAL]:
        a, b = optics_of(context, link)
        if a.rate_mbps != b.rate_mbps:
            yield on_link(
                "optics-speed",
                FAIL,
                link,
                link.rows[-1],
                "part",
                f"{a.part} runs at {rate_text(a.rate_mbps)}, its partner {b.part} at "
                f"{rate_text(b.rate_mbps)}; on fiber they do not negotiate",
                remedy="fit two optics of one rate that both ports list",
                value=b.rate_mbps,
                limit=a.rate_mbps,
                unit="Mb/s",
                source="IEEE 802.3: 1000BASE-X and 10GBASE-R do not negotiate on fiber "
                "(to be confirmed)",
            )


def optics_port(context: Context) -> Iterator[Finding]:
    """optics-port: an optic in a port that does not take its form or its rate."""
    for link in context.network.links[OPTICAL]:
        for optic, termination, equipment, port in zip(
            optics_of(context, link),
            (link.near_termination, link.far_termination),
            (link.near, link.far),
            (link.near_port, link.far_port),
            strict=True,
        ):
            if port is None or equipment is None:
                continue
            if not cage_takes(port, optic):
                yield on_link(
                    "optics-port",
                    FAIL,
                    link,
                    termination.row,
                    termination.column,
                    f"{optic.part} is a {optic.form or 'part without a form'}; port {port.port} of "
                    f"{equipment.part} takes {port.form or 'a form that is not stated'}",
                    remedy=f"use a port that takes {optic.form or 'it; fill the form of the optic'}",
                    value=optic.form,
                    limit=port.form,
                )
            elif not lists_rate(port, optic.rate_mbps):
                listed = ", ".join(rate_text(rate) for rate in port.rates_mbps) or "no rate"
                yield on_link(
                    "optics-port",
                    FAIL,
                    link,
                    termination.row,
                    termination.column,
                    f"{optic.part} runs at {rate_text(optic.rate_mbps)}; port {port.port} of "
                    f"{equipment.part} lists {listed}",
                    remedy="fit an optic of a listed rate at both ends, or use another port",
                    value=optic.rate_mbps,
                    unit="Mb/s",
                )


def optics_wavelength(context: Context) -> Iterator[Finding]:
    """optics-wavelength: light of one optic outside the receive window of the other."""
    overlap = context.optical.values["window_overlap"]
    for link in context.optical.links:
        missed = [d for d in context.optical.of(link) if overlap[d.place] != OVERLAP_FULL]
        if not missed:
            continue
        direction = min(missed, key=lambda d: overlap[d.place])  # no light before part of it
        sender, receiver = direction.sender, direction.receiver
        blind = overlap[direction.place] == OVERLAP_NONE
        sent = window_text(sender.tx_min_nm, sender.tx_max_nm)
        heard = window_text(receiver.rx_min_nm, receiver.rx_max_nm)
        both = " in either direction" if len(missed) > 1 else ""
        yield on_link(
            "optics-wavelength",
            FAIL if blind else THIN,
            link,
            direction.sender_row,
            "part",
            f"{sender.part} transmits {sent}, {receiver.part} receives {heard}: "
            + ("no light is received" if blind else "part of the range is outside")
            + both,
            remedy=_wavelength_remedy(*optics_of(context, link), context, blind),
            value=sender.tx_nominal_nm,
            unit="nm",
            source="receive window of the optic's standard",
        )


def strand_count(context: Context) -> Iterator[Finding]:
    """strand-count: as many strands as the optics need, on every run and at both ends."""
    for link in context.network.links[OPTICAL]:
        a, b = optics_of(context, link)
        if a.strands and b.strands and a.strands != b.strands:
            yield on_link(
                "strand-count",
                FAIL,
                link,
                link.rows[-1],
                "part",
                f"{a.part} works on {_strands(a.strands)}, {b.part} on {_strands(b.strands)}",
                remedy="fit two optics of one kind: both duplex, or a pair on a single fiber",
                value=b.strands,
                limit=a.strands,
                unit="strands",
            )
        needed = max(a.strands or 1, b.strands or 1)
        for row in link.rows[1:-1]:
            if not KINDS[row.kind].is_run:
                continue
            part = context.catalog.fibers[row.part]
            if row.strand and len(row.strand) != needed:
                yield on_link(
                    "strand-count",
                    FAIL,
                    link,
                    row,
                    "strand",
                    f"{_strands(len(row.strand))} named, the optics need {needed:g}",
                    remedy=f"name {_strands(needed)}",
                    value=len(row.strand),
                    limit=needed,
                    unit="strands",
                    shared=f"link {link.index}",
                )
            elif part.strands and part.strands * pieces_of(part, int(needed)) < needed:
                yield on_link(
                    "strand-count",
                    FAIL,
                    link,
                    row,
                    "part",
                    f"{row.part} has {_strands(part.strands)}, the optics need {needed:g}",
                    remedy="choose a cable with more strands, or optics for a single fiber",
                    value=part.strands,
                    limit=needed,
                    unit="strands",
                    shared=f"link {link.index}",
                )


def strands_taken(context: Context) -> Iterator[Finding]:
    """strand-count: links that do not name strands want more of a labelled cable than it has."""
    taken: dict[tuple, dict] = defaultdict(dict)
    for link in context.network.links[OPTICAL]:
        needed = strands_needed(link, context.catalog)
        for row in link.rows[1:-1]:
            if KINDS[row.kind].is_run and row.label:
                names = tuple(map(strand_name, row.strand or ())) or tuple(
                    (link.key, place) for place in range(needed)
                )
                taken[row_key(row)].update(dict.fromkeys(names, (link, row)))
    for users in taken.values():
        link, row = list(users.values())[-1]
        part = context.catalog.fibers[row.part]
        strands = part.strands and part.strands * pieces_of(
            part, strands_needed(link, context.catalog)
        )
        paths = tuple(dict.fromkeys(path for used, _ in users.values() for path in used.paths))
        # of what is named beyond them strand-label tells
        count = sum(not (str(name).isdecimal() and int(name) > (strands or 0)) for name in users)
        if strands and count > strands:
            yield on_link(
                "strand-count",
                FAIL,
                link,
                row,
                "label",
                f"the links over {row.label} want {count} strands, it has {strands:g}",
                remedy="choose a cable with more strands",
                value=count,
                limit=strands,
                unit="strands",
                paths=paths,
            )


def _strands(count: float) -> str:
    return f"{count:g} strand{'' if count == 1 else 's'}"


def optics_of(context: Context, link: Link) -> tuple[Any, Any]:
    """The parts of the optics at both ends of a link."""
    return (
        context.catalog.optics[link.rows[0].part],
        context.catalog.optics[link.rows[-1].part],
    )


def _wavelength_remedy(a, b, context: Context, blind: bool) -> str:
    if not blind:
        return "fit two optics of one standard"
    partner = partner_of(a, context)
    if a.part == b.part and partner:
        return f"swap one of the two for its partner {partner}"
    if partner:
        return f"fit {partner} opposite {a.part}"
    if a.strands == 1:
        return "fit the two ends of one bidirectional pair: each transmits where the other receives"
    return f"fit {a.part} at both ends"


def partner_of(optic, context: Context) -> str | None:
    """The other end of a bidirectional pair: it hears and is heard, of the same rate and form.

    Of several the one that is most alike: standard, reach, power, temperature class.
    """
    if optic.strands != 1:
        return None
    same = ("rate_mbps", "strands", "fiber_mode", "form")
    partners = [
        other
        for other in context.catalog.optics.values()
        if all(getattr(other, name) == getattr(optic, name) for name in same)
        and other.tx_nominal_nm != optic.tx_nominal_nm
        and _inside(optic, other)
        and _inside(other, optic)
    ]
    alike = ("standard", "launch_min_dbm", "sensitivity_dbm", "temp_max_c")
    partners.sort(key=lambda other: -sum(getattr(other, n) == getattr(optic, n) for n in alike))
    return partners[0].part if partners else None


def _inside(sender, receiver) -> bool:
    limits = (sender.tx_min_nm, sender.tx_max_nm, receiver.rx_min_nm, receiver.rx_max_nm)
    if any(limit is None for limit in limits):
        return False
    return receiver.rx_min_nm <= sender.tx_min_nm and sender.tx_max_nm <= receiver.rx_max_nm
