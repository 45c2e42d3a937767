"""The catalogues: brand-neutral parts as named tuples, read from one csv a family."""

from backhaul.catalog.catalog import Catalog, load_catalog
from backhaul.catalog.families import FAMILIES, Family

__all__ = ["FAMILIES", "Catalog", "Family", "load_catalog"]
