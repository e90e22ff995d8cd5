"""Words set into sentences."""


def lower_first(words: str) -> str:
    """As they go on within a sentence; the rest stays as it is: ``Found whole by PE 0521``."""
    return words[:1].lower() + words[1:]
