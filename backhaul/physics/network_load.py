"""What a line rate leaves for the user, and what a stream fills on a disk."""

from backhaul.methods import Figure, Method

METHODS = (Method("Ethernet frame overhead", "IEEE 802.3 Clauses 3, 4", "2018"),)

RANGES = {"mtu_bytes": (46, 9000)}  # IEEE 802.3 Clause 3; jumbo frames are common practice

#: Bytes on the wire beside the payload of a frame: header 14, check 4 (IEEE 802.3 Clause 3),
#: preamble and delimiter 8, gap 12 (Clause 4).
FRAME_OVERHEAD_BYTES = 14 + 4 + 8 + 12
VLAN_TAG_BYTES = 4  # IEEE 802.1Q
#: Headers inside the payload: IPv4 20 with UDP 8 or TCP 20 (RFC 791, 768, 9293).
UDP_HEADERS_BYTES = 28
TCP_HEADERS_BYTES = 40
#: GB (10^9 byte) a day of 1 Mb/s: 86 400 s / 8 bit / 1000.
GB_PER_DAY_PER_MBPS = 10.8


def goodput_mbps(
    *, rate_mbps: Figure, mtu_bytes: Figure, headers_bytes: Figure, vlan_tags: Figure
) -> Figure:
    """User data that full frames carry [Mb/s].

    rate_mbps: after line coding, the nominal rate. mtu_bytes: payload of a frame, 1500 as a
    rule. headers_bytes: inside the payload. Source: IEEE 802.3-2018 Clauses 3 and 4.

    >>> print(goodput_mbps(rate_mbps=1000, mtu_bytes=1500, headers_bytes=40, vlan_tags=0))
    949.28
    """
    wire_bytes = mtu_bytes + FRAME_OVERHEAD_BYTES + VLAN_TAG_BYTES * vlan_tags
    return rate_mbps * (mtu_bytes - headers_bytes) / wire_bytes


def storage_gb(*, mean_mbps: Figure, days: Figure) -> Figure:
    """Disk that a stream fills [GB of 10^9 byte], without file system or parity.

    >>> print(storage_gb(mean_mbps=4, days=1))
    43.2
    """
    return mean_mbps * GB_PER_DAY_PER_MBPS * days


CELL_FORMULAS = ("goodput_mbps", "storage_gb")
