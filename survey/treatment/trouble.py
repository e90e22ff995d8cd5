"""What a treatment does not allow now, each with a sentence that says what to do."""


class NotNow(ValueError):
    """The proposal or record is not in a state that allows this."""
