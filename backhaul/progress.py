"""How long work tells what it is at."""


def unwatched(stage: str) -> None:
    """Nobody watches the stages."""
