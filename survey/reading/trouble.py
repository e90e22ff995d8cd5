"""What cannot be done, each with a sentence that says what to do."""


class CannotAsk(ValueError):
    """The photographs that a reading needs are not here, or nothing says how they lie."""


class NotRead(ValueError):
    """A reading was begun, and the photographs do not give what was asked."""


class GivenUp(ValueError):
    """What the worker was to make stopped it again and again."""


class CannotCorrect(ValueError):
    """What a person said does not fit with the reading."""


class CannotPlace(ValueError):
    """The points do not say how a photograph lies."""


class Stopped(BaseException):
    """The worker was told to end: the reading waits for the next one.

    Not an Exception, so that nothing on its way takes it for a fault of the reading.
    """
