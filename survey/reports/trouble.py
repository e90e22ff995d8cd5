"""What cannot be done, each with a sentence that says what to do."""


class CannotAsk(ValueError):
    """This server cannot make reports."""


class NotMade(ValueError):
    """A report was begun and could not be made."""
