"""Every yellow cell of light typed with another value: the book is what a new evaluation is.

The reference is our own evaluation of the changed design or catalogue; a second engine
recalculates the book. Designs are invented.
"""

import re

import pytest
from small_designs import Typed, changed_catalog, evaluated, rows

from backhaul.book.book import SHEETS

LIGHT_SHEETS = ("optical_links", "inputs")
DESIGNS = {
    "single-mode": (
        "device switch-12-sfp site=works label=SW1",
        "optic 1000base-lx10 site=works",
        "connector lc-upc count=2",
        "splice fusion-splice",
        "fiber os2-12 site=works to_site=crest length_m=2100 strand=1/2 label=C1",
        "splice mechanical-splice",
        "fiber os2-24 site=crest to_site=crest length_m=900 strand=3/4 measured_db=0.5",
        "connector lc-upc-grade-c",
        "optic 1000base-lx10-i site=crest",
        "device switch-ind-6-sfp-2-sfp+ site=crest label=SW2",
    ),
    "multimode": (
        "device switch-12-sfp site=works label=SW1",
        "optic 1000base-sx site=works",
        "fiber om3-12 site=works to_site=crest length_m=150 strand=1/2 label=C2",
        "connector lc-upc",
        "optic 1000base-sx site=crest",
        "device switch-12-sfp site=crest label=SW2",
    ),
    "too much light": (
        "device switch-12-sfp site=works label=SW1",
        "optic 1000base-zx site=works",
        "fiber os2-12 site=works to_site=crest length_m=1700 strand=1/2 label=C1",
        "optic 1000base-zx site=crest",
        "device switch-12-sfp site=crest label=SW3",
    ),
}
_SHOWN = ("margin_db", "overload_margin_db", "statistical_margin_db", "dispersion_ps_nm")
_SHOWN += ("loss_max_db", "loss_min_db", "channel_margin_db", "power_margin_db", "attenuator_db")
_SPECTRA = {"max": "max_db_km", "mean": "typical_db_km", "min": "min_db_km"}
#: Steps that keep the figures of a part in order.
_STEPS = {
    "group_index": 0.01,
    "count": 1,
    "length_m": 137,
    "min_db": -0.0,
    "typical_db": 0.01,
    "launch_max_dbm": 0.3,
}


def changed_design(segments, key, value):
    """Rows with one figure typed, by the key of its cell; None where the key is no row's."""
    found = re.fullmatch(r"given\.(label|row)\.(.+)\.(\w+)", key)
    if found is None:
        return None
    kind, name, column = found.groups()
    return [
        row | {column: f"{value:g}"}
        if (row.get("label") == name if kind == "label" else place == int(name))
        else row
        for place, row in enumerate(segments)
    ]


def changed_part(folder, key, value):
    """A catalogue with one figure typed, by the key of its cell; None where it is no column."""
    found = re.fullmatch(r"given\.(optics|joints|fibers)\.([^.]+)\.(?:(on|at) (.+)\.)?(\w+)", key)
    if found is None:
        return None
    family, part, where, at, column = found.groups()
    if where == "on":
        return None  # of a class of fiber: several rows of one part
    if family == "fibers" and where == "at":
        which = column.removeprefix("attenuation_").partition("_")[0]
        column = f"{_SPECTRA[which]}_{at.removesuffix(' nm')}"
    return changed_catalog(folder, family, part, **{column: round(value, 6)})


def typed_value(key, given):
    column = key.rpartition(".")[2]
    if column == "damage_dbm" or "dispersion_ps_per_nm_km" in key:
        return None
    step = _STEPS.get(column, 0.02 if "db" in column else 5.0)
    if column.startswith(("attenuation_min", "attenuation_mean")):
        step = -0.01
    return given.value + step


@pytest.mark.parametrize("name", DESIGNS)
def test_a_typed_cell_is_a_new_evaluation(tmp_path, name):
    assert set(LIGHT_SHEETS) <= set(SHEETS)
    segments = rows("p", *DESIGNS[name])
    base = evaluated(tmp_path / "d", segments)
    book, typed = Typed(base, *LIGHT_SHEETS), 0
    for number, (key, given) in enumerate(inputs_of(base).items()):
        value = typed_value(key, given)
        design = segments if value is None else changed_design(segments, key, value)
        own = None
        if value is not None and design is None:
            own = changed_part(tmp_path / f"c{number}", key, value)
        if value is None or (design is None and own is None):
            continue
        changed = evaluated(tmp_path / "n", design or segments, catalogs=(own,) if own else ())
        assert_same(book.typed({base_key(book, key): value}), changed, key)
        typed += 1
    assert typed > 10


def inputs_of(evaluation):
    from backhaul.book.plan import Plan
    from backhaul.book.sheets import optical_links

    plan = Plan(evaluation)
    optical_links.build(plan)
    return plan.inputs.rows


def base_key(book, key):
    """The cell that is typed over: without Alternatives it bears the key of what is in use."""
    return key if key in book.layout.spots else "eff." + key.removeprefix("given.")


def assert_same(found, evaluation, key) -> None:
    values = evaluation.optical.values
    for link in evaluation.optical.links:
        for direction in evaluation.optical.of(link):
            prefix = f"light.{link.index}.{'ab'[direction.way]}"
            for figure in _SHOWN:
                value = float(values[figure][direction.place])
                if value == value:
                    shown = found[f"{prefix}.{figure}"]
                    assert shown == pytest.approx(value, abs=1e-9), (key, figure)
            if values["limited_by"][direction.place] == "both":
                assert found[f"{prefix}.margin_basis"] == values["margin_basis"][direction.place]
        verdict = found[f"light.{link.index}.verdict"]
        assert verdict == evaluation.link_verdict(link), key
