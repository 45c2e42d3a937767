"""One module a sheet. To add one: a module with `build(plan)` and its name in SHEETS of book.py."""
