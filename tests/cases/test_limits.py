"""Constants of the project that no single finding shows, by cases just inside and just outside."""

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1]))  # for `import compact`

import compact


def test_light_takes_4_9_us_a_km(tmp_path):
    """Data sheets of G.652 fiber: group index 1.467 to 1.468; the speed of light is exact. A
    fiber without its own index has the usual one."""
    text = "P: device t-switch | optic t-p | fiber t-sm-plain {}m | optic t-p | device t-switch"
    near, far = (
        compact.run(tmp_path / str(metres), text.format(metres)).performance.paths["P"].latency_us
        for metres in (1000, 11000)
    )
    assert far - near == pytest.approx(10 * 1.468 / 0.299792458, rel=1e-3)
