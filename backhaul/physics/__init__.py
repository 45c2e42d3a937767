"""Formulas only: nothing here knows a segment, a part or a finding.

Each says under `Valid:` for which figures it holds and what it gives beside them, under `Source:`
who says so. What holds for all is not said again: a figure that is not known (NaN) gives NaN, and
where a formula divides by zero a plain number raises ZeroDivisionError, an array gives an infinity
or NaN with numpy's warning. Designs and catalogues are held to the limits of their columns before.
"""
