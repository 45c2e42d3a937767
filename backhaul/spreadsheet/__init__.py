"""Spreadsheet files: cells, formulas, charts and pages. Knows nothing of backhaul."""
