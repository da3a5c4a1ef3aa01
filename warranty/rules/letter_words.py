"""Words that an answer to a claim never uses.

References
----------
.. [1] 16 CFR 700.8: a warrantor may not say that its decision is final or binding.
"""

from __future__ import annotations

import re
from typing import Final

# In English, and in Spanish where the word is another.
_FORBIDDEN: Final = re.compile(
    r"\b(?:final(?:ity|ly|e?s)?|binding|unappealable|definitiv[ao]s?|vinculantes?|"
    r"inapelables?)\b",
    re.IGNORECASE,
)


def forbidden_words(text: str) -> tuple[str, ...]:
    """Return the words of a text that would call the answer the last one.

    Parameters
    ----------
    text : str

    Returns
    -------
    tuple of str
        In small letters, each once, in order; empty when the text may be sent.
    """
    found = (each.group().lower() for each in _FORBIDDEN.finditer(text))
    return tuple(dict.fromkeys(found))
