"""Budget of a whole fiber-plus-radio path: light, air, copper and supply."""

__version__ = "0.1.0"
