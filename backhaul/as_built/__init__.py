"""What was built and measured, against what was designed."""
