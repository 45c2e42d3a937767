"""A link becomes its budget: terms with formulas, all links of one kind at once."""
