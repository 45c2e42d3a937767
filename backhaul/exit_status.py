"""With what a process ends, besides 0 for a design that passes and 1 for one that does not."""

#: What was asked for cannot be used, or its answer cannot be written.
UNUSABLE = 2
#: Ended by the keyboard, by a reader that left: 128 + SIGINT, 128 + SIGPIPE, as shells tell it.
INTERRUPTED, CLOSED_PIPE = 130, 141
