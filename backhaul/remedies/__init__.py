"""What settles a finding: changes of the design, each proved by evaluating it."""
