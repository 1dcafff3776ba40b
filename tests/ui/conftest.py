from tests.prompts import asked_of, twin

__all__ = ["asked_of", "twin"]
