"""The workbook: plain cells, grids, and the writer that makes the file."""
