"""Errors a front end shows as they are."""


class ServiceError(Exception):
    """Something the player asked for could not be done; the text is one clear line."""
