"""Figures of a path: what they are called, what they rest on, which verdict they give."""
