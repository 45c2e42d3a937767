"""Checks: budgets and chain become findings. To add one: a function, and its name in CHECKS."""
