"""Elevation files: GeoTIFF and .hgt, sampled along hops. Nothing here is looked up or fetched."""
