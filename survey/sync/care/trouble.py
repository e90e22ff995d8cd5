"""What stops the care of the server, in a sentence."""


class Trouble(Exception):
    """Carries a sentence that says what is the matter, and what to do."""
