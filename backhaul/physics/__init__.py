"""Formulas only: nothing here knows a segment, a part or a finding."""
