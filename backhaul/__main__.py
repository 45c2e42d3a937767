"""Where a process begins: ended by the keyboard while it still loads, it says no more than others."""

from backhaul.exit_status import INTERRUPTED


def main() -> None:
    """Load the command line and run it."""
    try:
        from backhaul.cli import main as run
    except KeyboardInterrupt:
        raise SystemExit(INTERRUPTED) from None
    run()


if __name__ == "__main__":
    main()
