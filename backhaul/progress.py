"""How long work tells what it is at."""


def unwatched(stage: str, left: int | None = None) -> None:
    """Nobody watches the stages. left: stages from this one on, where that is not known before."""
