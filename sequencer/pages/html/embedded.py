"""Text and plain values -> text that can stand in an element of a page and end none, and back: deflated, in base 64.

Deflated as RFC 1950 says, which Python and browsers both have at hand; rows of numbers become about a third.
"""

from __future__ import annotations

import base64
import json
import zlib
from typing import Any


def embedded(value: Any) -> str:
    """The text of a value that JSON can say.

    >>> taken_out(embedded({"a": [1, 2]}), 100)
    {'a': [1, 2]}
    """
    return packed(json.dumps(value, ensure_ascii=False, separators=(",", ":")))


def packed(text: str) -> str:
    """A text, deflated and in base 64."""
    return base64.b64encode(zlib.compress(text.encode("utf-8", "surrogatepass"), 9)).decode("ascii")


def taken_out(text: str, most: int) -> Any:
    """The value again. Raises ValueError for a text that is none of `embedded`, or one of more than `most` bytes."""
    inflate = zlib.decompressobj()
    try:
        data = inflate.decompress(base64.b64decode(text, validate=True), most)
    except zlib.error:
        raise ValueError("cannot be inflated") from None
    if not inflate.eof or inflate.unconsumed_tail:
        raise ValueError(f"holds more than {most} bytes, or less than it should")
    return json.loads(data.decode("utf-8", "surrogatepass"))
