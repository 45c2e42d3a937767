"""JSON to a stream, path by path, so that a district does not stand twice in memory."""

import json
from collections.abc import Iterator, Mapping
from typing import Any, TextIO


def write_json(data: Mapping[str, Any], stream: TextIO) -> None:
    """Write a record as JSON, one item of its lists a line; a list may still be an iterator."""
    encode = json.JSONEncoder(allow_nan=False, ensure_ascii=False, check_circular=False).encode
    stream.write("{")
    for place, (key, value) in enumerate(data.items()):
        stream.write(f"{',' if place else ''}\n{encode(key)}: ")
        if isinstance(value, (list, Iterator)):
            stream.write("[")
            for index, item in enumerate(value):
                stream.write(",\n" if index else "\n")
                stream.write(encode(item))
            stream.write("\n]")
        else:
            stream.write(encode(value))
    stream.write("\n}\n")
