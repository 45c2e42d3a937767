"""What the designer writes."""
