"""The kinds of segment. To add one: a file here and its name in KINDS."""

from backhaul.design.kinds.copper import COPPER_DROP
from backhaul.design.kinds.device import DEVICE
from backhaul.design.kinds.feed import FEED_RUN
from backhaul.design.kinds.fiber import FIBER
from backhaul.design.kinds.joints import ATTENUATOR, CONNECTOR, SPLICE
from backhaul.design.kinds.kind import AIR, COPPER, FEED, LIGHT, Kind
from backhaul.design.kinds.optic import OPTIC
from backhaul.design.kinds.protector import PROTECTOR
from backhaul.design.kinds.radio import RADIO

KINDS = {
    kind.name: kind
    for kind in (
        DEVICE,
        OPTIC,
        CONNECTOR,
        SPLICE,
        ATTENUATOR,
        FIBER,
        RADIO,
        COPPER_DROP,
        FEED_RUN,
        PROTECTOR,
    )
}

__all__ = ["AIR", "COPPER", "FEED", "KINDS", "LIGHT", "Kind"]
