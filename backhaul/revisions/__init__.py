"""Two revisions of a design beside each other: what is the same thing, what came of it."""
