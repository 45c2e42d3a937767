"""Rows joined into chains, and the links that are cut from them."""
